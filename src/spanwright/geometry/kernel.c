/* Distances between triangles and convex prisms, and the search for the least of them over all poses.
 *
 * No library is needed: the file is compiled without one. All arithmetic is plain double, in a fixed
 * order and without fused operations, so that every machine gives the same bits.
 *
 * A prism is a convex polygon in (y, z) drawn out along x. The least distance between a triangle and a
 * prism is reached between a corner and a face or between two edges, so all such pairs are tried; edge
 * against edge is the clamped form of Ericson, Real-Time Collision Detection, 2005, section 5.1.9.
 *
 * The search is best first: one heap for each part, whose head has the least lower bound. Read `search`.
 *
 * A body on two supports that run along a curve has a pose at each station: `poses`. What the search has
 * found is moved to where it is closest with exact poses: `polish`.
 */
#include <stdint.h>

#ifdef _WIN32
#define EXPORT __declspec(dllexport)
int _fltused = 0;
int _DllMainCRTStartup(void *a, unsigned b, void *c) { (void)a; (void)b; (void)c; return 1; }
#else
#define EXPORT __attribute__((visibility("default")))
#endif

/* The compiler may ask for these where structures are copied. */
#if defined(_WIN32) || defined(FREESTANDING)
void *memcpy(void *to, const void *from, __SIZE_TYPE__ n) {
    unsigned char *t = to; const unsigned char *f = from;
    while (n--) *t++ = *f++;
    return to;
}
void *memset(void *to, int value, __SIZE_TYPE__ n) {
    unsigned char *t = to;
    while (n--) *t++ = (unsigned char)value;
    return to;
}
#endif

#define INF __builtin_inf()
#define MOST_SIDES 64
#define LEVELS 6
#define POINT (-1000)
#define FIRST_LEVEL 5
#define OPEN_LEVEL 4 /* intervals are cut to this before triangles are looked at */
#define NODE (-1)
#define MOST_HUNTED 20000

static inline double root(double x) { return __builtin_sqrt(x); }
static inline double size_of(double x) { return __builtin_fabs(x); }
static inline double least_of(double a, double b) { return a < b ? a : b; }
static inline double most_of(double a, double b) { return a > b ? a : b; }
static inline double unit(double x) { return x < 0.0 ? 0.0 : (x > 1.0 ? 1.0 : x); }
static inline double dot(const double *a, const double *b) { return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]; }

typedef struct {
    double rear, front;
    int sides;
    const double *yz;         /* corners (y, z), counter-clockwise seen from the front */
    double low[3], high[3];   /* bounding box */
} Prism;

typedef struct {
    double distance;
    double on_prism[3];
    double weight[3];
} Contact;

static void make_prism(Prism *p, double rear, double front, const double *yz, int sides) {
    p->rear = rear; p->front = front; p->yz = yz; p->sides = sides;
    p->low[0] = rear; p->high[0] = front;
    for (int k = 0; k < 2; k++) {
        p->low[1 + k] = INF; p->high[1 + k] = -INF;
        for (int i = 0; i < sides; i++) {
            p->low[1 + k] = least_of(p->low[1 + k], yz[2 * i + k]);
            p->high[1 + k] = most_of(p->high[1 + k], yz[2 * i + k]);
        }
    }
}

/* Keep a pair of points if it is nearer than the pair that is held; `w` are weights of the triangle. */
static inline void keep(Contact *best, double square, const double *on_prism, double w0, double w1, double w2) {
    if (square < best->distance) {
        best->distance = square;
        best->on_prism[0] = on_prism[0]; best->on_prism[1] = on_prism[1]; best->on_prism[2] = on_prism[2];
        best->weight[0] = w0; best->weight[1] = w1; best->weight[2] = w2;
    }
}

/* Closest of the triangle's corners to the solid prism. */
static void corners_to_prism(const Prism *p, const double *t, Contact *best) {
    for (int k = 0; k < 3; k++) {
        const double *c = t + 3 * k;
        double x = c[0] < p->rear ? p->rear : (c[0] > p->front ? p->front : c[0]);
        double foot_y = c[1], foot_z = c[2], near = INF;
        int inside = 1;
        for (int i = 0; i < p->sides; i++) {
            int j = i + 1 == p->sides ? 0 : i + 1;
            double ay = p->yz[2 * i], az = p->yz[2 * i + 1];
            double sy = p->yz[2 * j] - ay, sz = p->yz[2 * j + 1] - az;
            double y = c[1] - ay, z = c[2] - az;
            if (sy * z - sz * y < 0.0) inside = 0;
            double along = unit((y * sy + z * sz) / (sy * sy + sz * sz));
            double gy = along * sy - y, gz = along * sz - z, off = gy * gy + gz * gz;
            if (off < near) { near = off; foot_y = ay + along * sy; foot_z = az + along * sz; }
        }
        if (inside) { foot_y = c[1]; foot_z = c[2]; }
        double point[3] = {x, foot_y, foot_z};
        double d[3] = {c[0] - x, c[1] - foot_y, c[2] - foot_z};
        keep(best, dot(d, d), point, k == 0, k == 1, k == 2);
    }
}

/* Start and vector of an edge of the prism: round the rear end, round the front end, lengthwise. */
static inline void prism_edge(const Prism *p, int number, double *q, double *v) {
    int ring = number / p->sides, i = number - ring * p->sides;
    int j = i + 1 == p->sides ? 0 : i + 1;
    q[0] = ring == 1 ? p->front : p->rear;
    q[1] = p->yz[2 * i]; q[2] = p->yz[2 * i + 1];
    if (ring == 2) { v[0] = p->front - p->rear; v[1] = 0.0; v[2] = 0.0; }
    else { v[0] = 0.0; v[1] = p->yz[2 * j] - q[1]; v[2] = p->yz[2 * j + 1] - q[2]; }
}

/* Along the way from the closest point of the prism to that of the triangle no edge reaches past its ends: how
 * near the triangle each edge of the prism comes so, and how near the prism each edge of the triangle. */
typedef struct { double top[3 * MOST_SIDES], low[3], enough; } Aim;

static void aim_at(const Prism *p, const double *t, int from, int to, const Contact *best, Aim *a) {
    double d[3], at[3], level[MOST_SIDES];
    for (int i = 0; i < 3; i++) {
        d[i] = best->weight[0] * t[i] + best->weight[1] * t[3 + i] + best->weight[2] * t[6 + i] - best->on_prism[i];
    }
    for (int k = 0; k < 3; k++) at[k] = dot(d, t + 3 * k);
    for (int k = 0; k < 3; k++) a->low[k] = least_of(at[k], at[k == 2 ? 0 : k + 1]);
    a->enough = dot(d, d) * (1.0 + 1e-9);
    double rear = d[0] * p->rear, front = d[0] * p->front;
    for (int i = 0; i < p->sides; i++) level[i] = d[1] * p->yz[2 * i] + d[2] * p->yz[2 * i + 1];
    for (int n = from; n < to; n++) {
        int ring = n / p->sides, i = n - ring * p->sides, j = i + 1 == p->sides ? 0 : i + 1;
        a->top[n] = ring == 2 ? level[i] + most_of(rear, front)
                              : most_of(level[i], level[j]) + (ring == 1 ? front : rear);
    }
}

/* Only the edges numbered `from` up to `to`; a pair is looked at if it may be nearer than what is held. */
static void edges_to_edges(const Prism *p, const double *t, int from, int to, Contact *best) {
    Aim aim;
    aim_at(p, t, from, to, best, &aim);
    for (int k = 0; k < 3; k++) {
        const double *a0 = t + 3 * k, *a1 = t + 3 * (k == 2 ? 0 : k + 1);
        double u[3] = {a1[0] - a0[0], a1[1] - a0[1], a1[2] - a0[2]};
        double a = most_of(dot(u, u), 1e-300);
        for (int n = from; n < to; n++) {
            if (aim.low[k] - aim.top[n] > aim.enough) continue;
            double q[3], v[3];
            prism_edge(p, n, q, v);
            double r[3] = {a0[0] - q[0], a0[1] - q[1], a0[2] - q[2]};
            double e = dot(v, v), b = dot(u, v), c = dot(u, r), f = dot(v, r);
            double cross = most_of(a * e - b * b, 1e-14 * a * e);
            double s = unit((b * f - c * e) / cross);
            double w = unit((b * s + f) / e);
            s = unit((b * w - c) / a);
            double on[3] = {q[0] + w * v[0], q[1] + w * v[1], q[2] + w * v[2]};
            double d[3] = {a0[0] + s * u[0] - on[0], a0[1] + s * u[1] - on[1], a0[2] + s * u[2] - on[2]};
            double square = dot(d, d);
            if (square < best->distance) {
                double weight[3] = {0.0, 0.0, 0.0};
                weight[k] = 1.0 - s; weight[k == 2 ? 0 : k + 1] = s;
                keep(best, square, on, weight[0], weight[1], weight[2]);
                aim_at(p, t, from, to, best, &aim);
            }
        }
    }
}

/* The triangle's edges against the lengthwise edges of a prism that is longer than the triangle on both
 * sides: seen from the front these are points. */
static void edges_to_sides(const Prism *p, const double *t, Contact *best) {
    for (int k = 0; k < 3; k++) {
        int next = k == 2 ? 0 : k + 1;
        const double *a0 = t + 3 * k, *a1 = t + 3 * next;
        double ux = a1[0] - a0[0], uy = a1[1] - a0[1], uz = a1[2] - a0[2];
        double a = 1.0 / most_of(uy * uy + uz * uz, 1e-300);
        for (int i = 0; i < p->sides; i++) {
            double ry = p->yz[2 * i] - a0[1], rz = p->yz[2 * i + 1] - a0[2];
            double s = unit((uy * ry + uz * rz) * a);
            double dy = s * uy - ry, dz = s * uz - rz, square = dy * dy + dz * dz;
            if (square < best->distance) {
                double on[3] = {a0[0] + s * ux, p->yz[2 * i], p->yz[2 * i + 1]}, weight[3] = {0.0, 0.0, 0.0};
                weight[k] = 1.0 - s; weight[next] = s;
                keep(best, square, on, weight[0], weight[1], weight[2]);
            }
        }
    }
}

/* Height over the triangle's plane and barycentric weights of points: three planes through one corner. */
typedef struct { double unit[3], first[3], second[3], origin[3]; int flat; } Face;

static void make_face(Face *f, const double *t) {
    double a[3], b[3];
    for (int i = 0; i < 3; i++) { a[i] = t[3 + i] - t[i]; b[i] = t[6 + i] - t[i]; f->origin[i] = t[i]; }
    double n[3] = {a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]};
    double square = dot(n, n);
    f->flat = !(square > 0.0);
    if (f->flat) return;
    double length = root(square);
    double first[3] = {b[1] * n[2] - b[2] * n[1], b[2] * n[0] - b[0] * n[2], b[0] * n[1] - b[1] * n[0]};
    double second[3] = {n[1] * a[2] - n[2] * a[1], n[2] * a[0] - n[0] * a[2], n[0] * a[1] - n[1] * a[0]};
    for (int i = 0; i < 3; i++) {
        f->unit[i] = n[i] / length; f->first[i] = first[i] / square; f->second[i] = second[i] / square;
    }
}

static inline void over_face(const Face *f, const double *point, double *height, double *v, double *w) {
    double d[3] = {point[0] - f->origin[0], point[1] - f->origin[1], point[2] - f->origin[2]};
    *height = dot(f->unit, d); *v = dot(f->first, d); *w = dot(f->second, d);
}

/* Only the corners of one end, at x. */
static void face_to_corners(const Prism *p, const double *t, const Face *face, double x, Contact *best) {
    if (face->flat) return;
    for (int i = 0; i < p->sides; i++) {
        double point[3] = {x, p->yz[2 * i], p->yz[2 * i + 1]};
        double height, v, w;
        over_face(face, point, &height, &v, &w);
        if (v < 0.0 || w < 0.0 || v + w > 1.0) continue;
        double g = 1.0 - v - w, d[3];
        for (int c = 0; c < 3; c++) d[c] = g * t[c] + v * t[3 + c] + w * t[6 + c] - point[c];
        keep(best, dot(d, d), point, g, v, w);
    }
}

/* Does an edge of the triangle run in the prism? Then give the middle of that stretch. */
static int edge_in_prism(const Prism *p, const double *t, double *weight) {
    for (int k = 0; k < 3; k++) {
        const double *a = t + 3 * k, *b = t + 3 * (k == 2 ? 0 : k + 1);
        double enters = 0.0, leaves = 1.0;
        int out = 0;
        for (int i = -2; i < p->sides && !out; i++) {
            double at_a, at_b; /* 0 or more inside */
            if (i == -2) { at_a = a[0] - p->rear; at_b = b[0] - p->rear; }
            else if (i == -1) { at_a = p->front - a[0]; at_b = p->front - b[0]; }
            else {
                int j = i + 1 == p->sides ? 0 : i + 1;
                double ay = p->yz[2 * i], az = p->yz[2 * i + 1];
                double sy = p->yz[2 * j] - ay, sz = p->yz[2 * j + 1] - az;
                at_a = sy * (a[2] - az) - sz * (a[1] - ay);
                at_b = sy * (b[2] - az) - sz * (b[1] - ay);
            }
            double change = at_b - at_a;
            if (change > 0.0) enters = most_of(enters, -at_a / change);
            else if (change < 0.0) leaves = least_of(leaves, -at_a / change);
            else if (at_a < 0.0) out = 1;
        }
        if (!out && enters <= leaves) {
            double s = 0.5 * (enters + leaves);
            weight[0] = weight[1] = weight[2] = 0.0;
            weight[k] = 1.0 - s; weight[k == 2 ? 0 : k + 1] = s;
            return 1;
        }
    }
    return 0;
}

static int edge_through_face(const Prism *p, const Face *face, double *weight) {
    if (face->flat) return 0;
    for (int n = 0; n < 3 * p->sides; n++) {
        double q[3], v[3], end[3], h0, v0, w0, h1, v1, w1;
        prism_edge(p, n, q, v);
        for (int i = 0; i < 3; i++) end[i] = q[i] + v[i];
        over_face(face, q, &h0, &v0, &w0);
        over_face(face, end, &h1, &v1, &w1);
        if (h0 * h1 > 0.0 || h0 == h1) continue;
        double s = h0 / (h0 - h1), a = v0 + s * (v1 - v0), b = w0 + s * (w1 - w0);
        if (a >= 0.0 && b >= 0.0 && a + b <= 1.0) {
            weight[0] = 1.0 - a - b; weight[1] = a; weight[2] = b;
            return 1;
        }
    }
    return 0;
}

/* A corner of the triangle is the closest if both others lie beyond it, as its foot on the prism is. */
static int corner_is_closest(const double *t, const Contact *best) {
    int k = best->weight[0] == 1.0 ? 0 : (best->weight[1] == 1.0 ? 1 : 2);
    const double *c = t + 3 * k;
    double n[3] = {c[0] - best->on_prism[0], c[1] - best->on_prism[1], c[2] - best->on_prism[2]};
    double at = dot(n, c);
    return dot(n, t) >= at && dot(n, t + 3) >= at && dot(n, t + 6) >= at;
}

/* The foot of a point on the prism has the point's own x where that is between the ends: so an end counts
 * only for a triangle that reaches to it, and the lengthwise edges only for one that is not wholly past an end. */
static void touch(const Prism *p, const double *t, Contact *best) {
    best->distance = INF;
    Face face;
    int meet = 1;
    double lowest = 0.0, highest = 0.0;
    for (int i = 0; i < 3; i++) {
        double low = least_of(t[i], least_of(t[3 + i], t[6 + i]));
        double high = most_of(t[i], most_of(t[3 + i], t[6 + i]));
        if (i == 0) { lowest = low; highest = high; }
        if (low > p->high[i] || high < p->low[i]) meet = 0;
    }
    if (meet) {
        make_face(&face, t);
        if (edge_in_prism(p, t, best->weight) || edge_through_face(p, &face, best->weight)) {
            best->distance = 0.0;
            for (int i = 0; i < 3; i++)
                best->on_prism[i] = best->weight[0] * t[i] + best->weight[1] * t[3 + i] + best->weight[2] * t[6 + i];
            return;
        }
    }
    corners_to_prism(p, t, best);
    if (!corner_is_closest(t, best)) {
        int at_rear = lowest <= p->rear, at_front = highest >= p->front;
        if (!at_rear && !at_front) edges_to_sides(p, t, best);
        else {
            if (!meet) make_face(&face, t);
            if (at_rear) {
                edges_to_edges(p, t, 0, p->sides, best);
                face_to_corners(p, t, &face, p->rear, best);
            }
            if (at_front) {
                edges_to_edges(p, t, p->sides, 2 * p->sides, best);
                face_to_corners(p, t, &face, p->front, best);
            }
            if (lowest < p->front && highest > p->rear) edges_to_edges(p, t, 2 * p->sides, 3 * p->sides, best);
        }
    }
    best->distance = root(best->distance);
}

/* Distances of `count` triangles (9 numbers each) and one prism; out: distance, 3 on the prism, 3 weights. */
EXPORT void contacts(int64_t count, const double *triangles, double rear, double front, const double *yz,
                     int64_t sides, double *out) {
    Prism p;
    make_prism(&p, rear, front, yz, (int)sides);
    for (int64_t n = 0; n < count; n++) {
        Contact c;
        touch(&p, triangles + 9 * n, &c);
        double *row = out + 7 * n;
        row[0] = c.distance;
        for (int i = 0; i < 3; i++) { row[1 + i] = c.on_prism[i]; row[4 + i] = c.weight[i]; }
    }
}

/* ------------------------------------------------------------------------------------------ search */

typedef struct {
    int64_t cells;
    const double *nodes, *turn, *shift; /* cells + 1 of each: 1, 9, 3 numbers */
    const double *constant, *growth;    /* of all levels, one after the other */
    const int64_t *level_start;         /* LEVELS numbers */
} Grid;

typedef struct {
    double corners[9];
    double low;    /* cell coordinate of the interval's start */
    double least;  /* lower bound */
    int32_t owner; /* triangle, or node of the tree */
    int32_t piece; /* NODE for a node */
    int32_t level; /* its number of cells is 2**level; POINT for a single pose */
    int32_t spare;
} Entry;

typedef struct { double key; int64_t slot; } Head;

typedef struct {
    Entry *entries; Head *heap; int64_t *unused;
    int64_t capacity, fresh, free_count, count;
    int full;
} Heap;

static void heap_push(Heap *h, const Entry *e) {
    int64_t slot;
    if (h->free_count) slot = h->unused[--h->free_count];
    else if (h->fresh < h->capacity) slot = h->fresh++;
    else { h->full = 1; return; }
    h->entries[slot] = *e;
    int64_t k = h->count++;
    while (k > 0) {
        int64_t up = (k - 1) / 2;
        if (h->heap[up].key <= e->least) break;
        h->heap[k] = h->heap[up];
        k = up;
    }
    h->heap[k].key = e->least; h->heap[k].slot = slot;
}

static void heap_pop(Heap *h, Entry *e) {
    int64_t slot = h->heap[0].slot;
    *e = h->entries[slot];
    h->unused[h->free_count++] = slot;
    Head last = h->heap[--h->count];
    int64_t k = 0;
    for (;;) {
        int64_t down = 2 * k + 1;
        if (down >= h->count) break;
        if (down + 1 < h->count && h->heap[down + 1].key < h->heap[down].key) down++;
        if (h->heap[down].key >= last.key) break;
        h->heap[k] = h->heap[down];
        k = down;
    }
    if (h->count) h->heap[k] = last;
}

static inline int64_t cell_of(const Grid *g, double c) {
    int64_t i = (int64_t)c;
    return i > g->cells - 1 ? g->cells - 1 : i;
}

static void pose_at(const Grid *g, double c, double *turn, double *shift) {
    int64_t i = cell_of(g, c);
    double t = c - (double)i;
    const double *a = g->turn + 9 * i, *b = a + 9, *s = g->shift + 3 * i;
    for (int k = 0; k < 9; k++) turn[k] = a[k] + t * (b[k] - a[k]);
    for (int k = 0; k < 3; k++) shift[k] = s[k] + t * (s[3 + k] - s[k]);
}

static inline void seen_from(const double *turn, const double *shift, const double *p, double *q) {
    for (int k = 0; k < 3; k++) q[k] = dot(turn + 3 * k, p) - shift[k];
}

static inline double station_of(const Grid *g, double c) {
    int64_t i = cell_of(g, c);
    return g->nodes[i] + (c - (double)i) * (g->nodes[i + 1] - g->nodes[i]);
}

static inline double deviation(const Grid *g, double low, int level, double far) {
    int k = level > 0 ? level : 0;
    int64_t at = g->level_start[k] + (cell_of(g, low) >> k);
    return g->constant[at] + g->growth[at] * far;
}

static inline double width_of(int level) {
    double w = 1.0;
    if (level == POINT) return 0.0;
    for (int k = 0; k < level; k++) w *= 2.0;
    for (int k = level < -60 ? -60 : level; k < 0; k++) w *= 0.5;
    return w;
}

static inline double box_gap(const Prism *p, const double *low, const double *high) {
    double square = 0.0;
    for (int i = 0; i < 3; i++) {
        double apart = most_of(most_of(low[i] - p->high[i], p->low[i] - high[i]), 0.0);
        square += apart * apart;
    }
    return root(square);
}

static inline double reach_along(const Prism *p, const double *n) {
    double best = -INF;
    for (int i = 0; i < p->sides; i++) best = most_of(best, n[1] * p->yz[2 * i] + n[2] * p->yz[2 * i + 1]);
    return most_of(n[0] * p->rear, n[0] * p->front) + best;
}

/* The least of each key and where it was found. */
typedef struct { double *distance; int64_t *owner, *piece; double *station; } Best;

static inline void better(Best *b, int64_t key, double upper, int64_t owner, int64_t piece, double station) {
    if (upper < b->distance[key]) {
        b->distance[key] = upper; b->owner[key] = owner; b->piece[key] = piece; b->station[key] = station;
    }
}

typedef struct {
    Grid grid;
    int64_t pieces;
    const Prism *prisms;
    double body_low, body_high;     /* height of the body */
    const double *corners;
    const int64_t *below;           /* first and end of the nodes under a node, of the triangles under a cluster */
    const double *stick, *radius;   /* two points and a radius of each node: all of it is so near their segment */
    int64_t clusters;               /* the first nodes are clusters of triangles */
    double tolerance, prune, fine, reach, within, loose, bin;
    int64_t bins;
    Best part, stretch;
    int64_t number;                 /* of the part */
    int with_bins;
    Heap heap;
    int64_t judged, hunted;
} Search;

static int64_t bin_of(const Search *s, const double *corners, double middle) {
    double turn[9], shift[3], q[3], centre[3];
    int64_t at = (int64_t)((station_of(&s->grid, middle) - s->grid.nodes[0]) / s->bin);
    if (at > s->bins - 1) at = s->bins - 1;
    pose_at(&s->grid, middle, turn, shift);
    for (int i = 0; i < 3; i++) centre[i] = (corners[i] + corners[3 + i] + corners[6 + i]) / 3.0;
    seen_from(turn, shift, centre, q);
    int64_t side = q[2] > s->body_high ? 2 : (q[2] < s->body_low ? 3 : (q[1] > 0.0 ? 1 : 0));
    return (s->number * s->bins + at) * 4 + side;
}

static void ends_of(const Search *s, const Entry *e, double *middle, double *high) {
    double last = (double)s->grid.cells, width = width_of(e->level);
    *high = least_of(e->low + width, last);
    *middle = e->level > 0 ? least_of(e->low + 0.5 * width, *high) : 0.5 * (e->low + *high);
}

/* A gap within the tolerance may be none at all: what could still touch is followed further. */
static inline int may_touch(const Search *s) {
    return s->part.distance[s->number] < s->tolerance && s->hunted < MOST_HUNTED;
}

/* Lower bounds above this are of no use to anyone. They may be negative, so that what reaches deepest
 * comes first. */
static inline double useful(const Search *s) {
    double known = s->part.distance[s->number];
    if (!(known > 0.0)) return -INF;
    double limit = known - s->prune * s->tolerance;
    if (may_touch(s)) limit = most_of(limit, 0.0);
    if (s->with_bins && known > 0.0) limit = most_of(limit, known + s->within - s->loose);
    return least_of(limit, s->reach);
}

static int alive(const Search *s, const Entry *e) {
    double known = s->part.distance[s->number], middle, high;
    if (!(known > 0.0)) return 0;
    if (e->least < known - s->prune * s->tolerance) return 1;
    if (e->least < 0.0 && may_touch(s)) return 1;
    if (!s->with_bins || !(known > 0.0) || !(e->least < known + s->within - s->loose)) return 0;
    if (e->piece < 0) return 1;
    ends_of(s, e, &middle, &high);
    if (station_of(&s->grid, high) - station_of(&s->grid, e->low) > s->bin) return 1;
    double held = least_of(s->stretch.distance[bin_of(s, e->corners, middle)], s->reach);
    return e->least < held - s->loose;
}

/* Put the triangles of a cluster in the heap, one entry for each piece of the body. */
static void open_cluster(Search *s, const Entry *cluster) {
    const Grid *g = &s->grid;
    double middle, high, turn[2][9], shift[2][3];
    ends_of(s, cluster, &middle, &high);
    pose_at(g, cluster->low, turn[0], shift[0]);
    pose_at(g, high, turn[1], shift[1]);
    double length = station_of(g, high) - station_of(g, cluster->low);
    for (int64_t n = s->below[2 * cluster->owner]; n < s->below[2 * cluster->owner + 1]; n++) {
        Entry e = *cluster;
        double low[3] = {INF, INF, INF}, top[3] = {-INF, -INF, -INF}, far = 0.0;
        for (int k = 0; k < 9; k++) e.corners[k] = s->corners[9 * n + k];
        for (int end = 0; end < 2; end++)
            for (int k = 0; k < 3; k++) {
                double q[3];
                seen_from(turn[end], shift[end], e.corners + 3 * k, q);
                far = most_of(far, dot(q, q));
                for (int i = 0; i < 3; i++) { low[i] = least_of(low[i], q[i]); top[i] = most_of(top[i], q[i]); }
            }
        double off = e.level == POINT ? 0.0 : deviation(g, e.low, e.level, root(far) + length);
        e.owner = (int32_t)n;
        for (int64_t k = 0; k < s->pieces; k++) {
            e.piece = (int32_t)k;
            e.least = most_of(box_gap(&s->prisms[k], low, top) - off, cluster->least);
            if (e.least < useful(s)) heap_push(&s->heap, &e);
        }
    }
}

/* Put a node in the heap for an interval: its stick moves along chords, which lie in the box of their ends. */
static void put_node(Search *s, int64_t node, double low, int level, double least) {
    const Grid *g = &s->grid;
    const double *stick = s->stick + 6 * node;
    Entry e;
    double middle, high, turn[9], shift[3], gap = INF, square = 0.0;
    double floor[3] = {INF, INF, INF}, top[3] = {-INF, -INF, -INF};
    e.owner = (int32_t)node; e.piece = NODE; e.level = level; e.low = low; e.least = 0.0; e.spare = 0;
    for (int k = 0; k < 9; k++) e.corners[k] = 0.0;
    ends_of(s, &e, &middle, &high);
    for (int end = 0; end < 2; end++) {
        pose_at(g, end ? high : low, turn, shift);
        for (int k = 0; k < 2; k++) {
            double q[3];
            seen_from(turn, shift, stick + 3 * k, q);
            square = most_of(square, dot(q, q));
            for (int i = 0; i < 3; i++) { floor[i] = least_of(floor[i], q[i]); top[i] = most_of(top[i], q[i]); }
        }
    }
    double far = root(square) + s->radius[node] + (station_of(g, high) - station_of(g, low));
    double off = level == POINT ? 0.0 : deviation(g, low, level, far);
    for (int64_t k = 0; k < s->pieces; k++) gap = least_of(gap, box_gap(&s->prisms[k], floor, top));
    e.least = most_of(gap - s->radius[node] - off, least);
    if (e.least < useful(s)) heap_push(&s->heap, &e);
}

/* Cut the interval of a node, or go to what is under it: whichever makes the larger part of its size. */
static void open_node(Search *s, const Entry *e) {
    int64_t first = s->below[2 * e->owner], end = s->below[2 * e->owner + 1];
    double middle, high;
    ends_of(s, e, &middle, &high);
    int is_cluster = e->owner < s->clusters;
    double length = station_of(&s->grid, high) - station_of(&s->grid, e->low);
    if (e->level > OPEN_LEVEL && (is_cluster || length > 2.0 * s->radius[e->owner])) {
        int level = e->level - 1;
        double late = e->low + width_of(level);
        put_node(s, e->owner, e->low, level, e->least);
        if (late < (double)s->grid.cells) put_node(s, e->owner, late, level, e->least);
    } else if (is_cluster) open_cluster(s, e);
    else for (int64_t n = first; n < end; n++) put_node(s, n, e->low, e->level, e->least);
}

/* Take the distance at the middle pose, raise the lower bound, split. */
static void judge(Search *s, Entry *e) {
    const Grid *g = &s->grid;
    double middle, high, turn[9], shift[3], at[9], start[9], end[9], n[3] = {0.0, 0.0, 0.0};
    const Prism *p = &s->prisms[e->piece];
    ends_of(s, e, &middle, &high);
    pose_at(g, middle, turn, shift);
    for (int k = 0; k < 3; k++) seen_from(turn, shift, e->corners + 3 * k, at + 3 * k);
    Contact c;
    touch(p, at, &c);
    double apart = c.distance, far = 0.0, far_at = 0.0, loose, spread = 0.0, off = 0.0;
    double length = station_of(g, high) - station_of(g, e->low);
    if (e->level == POINT) {
        for (int k = 0; k < 9; k++) start[k] = end[k] = at[k];
    } else {
        pose_at(g, e->low, turn, shift);
        for (int k = 0; k < 3; k++) seen_from(turn, shift, e->corners + 3 * k, start + 3 * k);
        pose_at(g, high, turn, shift);
        for (int k = 0; k < 3; k++) seen_from(turn, shift, e->corners + 3 * k, end + 3 * k);
    }
    for (int k = 0; k < 3; k++) {
        double here = dot(at + 3 * k, at + 3 * k);
        far_at = most_of(far_at, here);
        far = most_of(far, most_of(here, most_of(dot(start + 3 * k, start + 3 * k), dot(end + 3 * k, end + 3 * k))));
    }
    far_at = root(far_at);
    if (e->level != POINT) off = deviation(g, e->low, e->level < -1 ? -1 : e->level, root(far) + length);
    if (apart > 0.0) {
        for (int i = 0; i < 3; i++)
            n[i] = (c.weight[0] * at[i] + c.weight[1] * at[3 + i] + c.weight[2] * at[6 + i] - c.on_prism[i]) / apart;
        double nearest = INF, slow = INF, fast = -INF;
        for (int k = 0; k < 3; k++) {
            double first = dot(n, start + 3 * k), last = dot(n, end + 3 * k), moved = last - first;
            nearest = least_of(nearest, least_of(first, last));
            slow = least_of(slow, moved); fast = most_of(fast, moved);
        }
        spread = fast - slow;
        e->least = most_of(e->least, nearest - reach_along(p, n) - off);
    }
    double upper = apart;
    int on_node = e->level == POINT || middle == (double)(int64_t)middle;
    if (!on_node && apart > 0.0) upper += deviation(g, (double)cell_of(g, middle), 0, far_at);
    double where = station_of(g, middle);
    better(&s->part, s->number, upper, e->owner, e->piece, where);
    if (s->with_bins) better(&s->stretch, bin_of(s, e->corners, middle), upper, e->owner, e->piece, where);
    if (!alive(s, e)) return;
    double longest = 0.0;
    int side = 0;
    for (int k = 0; k < 3; k++) {
        const double *a = e->corners + 3 * k, *b = e->corners + 3 * (k == 2 ? 0 : k + 1);
        double d[3] = {b[0] - a[0], b[1] - a[1], b[2] - a[2]}, square = dot(d, d);
        if (square > longest) { longest = square; side = k; }
    }
    longest = root(longest);
    loose = apart - e->least;
    if ((spread > 0.5 * loose && longest > length) || (off > s->fine && e->level <= 0 && longest > 1.0)) {
        int next = side == 2 ? 0 : side + 1;
        Entry first = *e, second = *e;
        for (int i = 0; i < 3; i++) {
            double half = e->corners[3 * side + i] + 0.5 * (e->corners[3 * next + i] - e->corners[3 * side + i]);
            first.corners[3 * next + i] = half;
            second.corners[3 * side + i] = half;
        }
        heap_push(&s->heap, &first);
        heap_push(&s->heap, &second);
    } else if (e->level != POINT && e->level > -40) {
        Entry late = *e;
        e->level -= 1;
        late.level = e->level;
        late.low = e->low + width_of(e->level);
        heap_push(&s->heap, e);
        if (late.low < (double)g->cells) heap_push(&s->heap, &late);
    }
}

/* Find the least distance of one body to each part over all poses of a grid.
 *
 * counts: cells, pieces, parts, clusters, bins (0: no further witnesses), capacity, most judged of a part,
 *         most judged with bins.
 * roots: the node at the top of each part's tree, -1 for a part without triangles.
 * goal: tolerance, prune, fine, reach, within, loose, bin.
 * Returns the number judged, -1 if the workspace is too small, -2 if the bounds do not close.
 */
EXPORT int64_t search(const int64_t *counts, const double *goal, const double *nodes, const double *turn,
                      const double *shift, const double *constant, const double *growth,
                      const int64_t *level_start, const double *lengths, const double *yz, const int64_t *yz_start,
                      const double *corners, const int64_t *roots, const int64_t *below, const double *stick,
                      const double *radius, double *part_distance, int64_t *part_owner,
                      int64_t *part_piece, double *part_station, double *bin_distance, int64_t *bin_owner,
                      int64_t *bin_piece, double *bin_station, void *entries, void *heap, int64_t *unused,
                      double *workspace) {
    Search s;
    Prism *prisms = (Prism *)workspace;
    s.grid.cells = counts[0]; s.grid.nodes = nodes; s.grid.turn = turn; s.grid.shift = shift;
    s.grid.constant = constant; s.grid.growth = growth; s.grid.level_start = level_start;
    s.pieces = counts[1]; s.prisms = prisms;
    s.body_low = INF; s.body_high = -INF;
    for (int64_t k = 0; k < s.pieces; k++) {
        make_prism(&prisms[k], lengths[2 * k], lengths[2 * k + 1], yz + 2 * yz_start[k],
                   (int)(yz_start[k + 1] - yz_start[k]));
        s.body_low = least_of(s.body_low, prisms[k].low[2]);
        s.body_high = most_of(s.body_high, prisms[k].high[2]);
    }
    s.corners = corners; s.below = below; s.stick = stick; s.radius = radius; s.clusters = counts[3];
    s.tolerance = goal[0]; s.prune = goal[1]; s.fine = goal[2]; s.reach = goal[3]; s.within = goal[4];
    s.loose = goal[5]; s.bin = goal[6];
    s.bins = counts[4];
    s.part.distance = part_distance; s.part.owner = part_owner; s.part.piece = part_piece;
    s.part.station = part_station;
    s.stretch.distance = bin_distance; s.stretch.owner = bin_owner; s.stretch.piece = bin_piece;
    s.stretch.station = bin_station;
    s.heap.entries = entries; s.heap.heap = heap; s.heap.unused = unused; s.heap.capacity = counts[5];
    int64_t total = 0, step = 1 << FIRST_LEVEL;
    for (s.number = 0; s.number < counts[2]; s.number++) {
        int64_t top = roots[s.number];
        if (top < 0) continue;
        s.with_bins = s.bins > 0;
        s.heap.count = s.heap.fresh = s.heap.free_count = 0; s.heap.full = 0;
        s.judged = s.hunted = 0;
        for (int64_t low = 0; low < s.grid.cells; low += step) put_node(&s, top, (double)low, FIRST_LEVEL, -INF);
        put_node(&s, top, 0.0, POINT, -INF);
        put_node(&s, top, (double)s.grid.cells, POINT, -INF);
        while (s.heap.count && s.heap.heap[0].key < useful(&s)) {
            Entry e;
            heap_pop(&s.heap, &e);
            if (!alive(&s, &e)) continue;
            if (e.piece == NODE) open_node(&s, &e);
            else {
                judge(&s, &e);
                s.judged++;
                if (s.part.distance[s.number] < s.tolerance) s.hunted++;
                if (s.with_bins && s.judged > counts[7]) s.with_bins = 0;
                if (s.judged > counts[6]) return -2;
            }
            if (s.heap.full) return -1;
        }
        if (s.heap.full) return -1;
        total += s.judged;
    }
    return total;
}

EXPORT int64_t entry_bytes(void) { return (int64_t)sizeof(Entry); }
EXPORT int64_t prism_bytes(void) { return (int64_t)sizeof(Prism); }
EXPORT int64_t head_bytes(void) { return (int64_t)sizeof(Head); }

/* ------------------------------------------------------------------------------------------- poses */

#define ROW 17
#define CLOSE 1e-6 /* what is left is closed by a straight step: it is then right to 1e-12 */
#define MOST_STEPS 30

/* A curve in space as polynomials, with the sine of its roll: 6 factors of x, 6 of y, 3 of z, 2 of the sine. */
typedef struct { int64_t count; const double *start, *rows; double spacing, wheelbase; } Way;

typedef struct { double sine, cosine, slope; } Roll;

/* The piece that holds a station: that of the last one asked for, or by halving. */
static const double *piece_at(const Way *w, double s, int64_t *last, double *t) {
    int64_t low = *last, high = low + 1;
    if (!(w->start[low] <= s && (high == w->count || s < w->start[high]))) {
        low = 0; high = w->count; /* start[low] <= s < start[high], but for the ends */
        while (high - low > 1) {
            int64_t middle = (low + high) / 2;
            if (w->start[middle] <= s) low = middle; else high = middle;
        }
        *last = low;
    }
    *t = s - w->start[low];
    return w->rows + ROW * low;
}

static void on_way(const Way *w, double s, int64_t *last, double *place, double *slope, Roll *roll) {
    double t;
    const double *r = piece_at(w, s, last, &t);
    for (int k = 0; k < 2; k++) {
        const double *f = r + 6 * k;
        place[k] = f[0] + t * (f[1] + t * (f[2] + t * (f[3] + t * (f[4] + t * f[5]))));
        slope[k] = f[1] + t * (2.0 * f[2] + t * (3.0 * f[3] + t * (4.0 * f[4] + t * 5.0 * f[5])));
    }
    place[2] = r[12] + t * (r[13] + t * r[14]);
    slope[2] = r[13] + 2.0 * t * r[14];
    roll->sine = r[15] + t * r[16];
    roll->cosine = root(1.0 - roll->sine * roll->sine);
    roll->slope = r[16] / roll->cosine;
}

/* About half the distance in station between the supports: the arc over their chord, as if the curvature and
 * the grade were even. */
static double first_guess(const Way *w, double s, int64_t *last) {
    double t, square = 0.0;
    const double *r = piece_at(w, s, last, &t);
    for (int k = 0; k < 2; k++) {
        const double *f = r + 6 * k;
        double bend = 2.0 * f[2] + t * (6.0 * f[3] + t * (12.0 * f[4] + t * 20.0 * f[5]));
        square += bend * bend;
    }
    double grade = r[13] + 2.0 * t * r[14];
    double half = 0.5 * w->spacing / root(1.0 + grade * grade);
    double turn = least_of(square * half * half, 1.0);
    return half * (1.0 + turn * (1.0 / 6.0 + turn * (3.0 / 40.0)));
}

/* The mean of two angles, each below a right angle. */
static Roll mean_of(Roll a, Roll b) {
    Roll m;
    m.cosine = root(0.5 * (1.0 + (a.cosine * b.cosine - a.sine * b.sine)));
    m.sine = 0.5 * (a.sine * b.cosine + a.cosine * b.sine) / m.cosine;
    m.slope = 0.5 * (a.slope + b.slope);
    return m;
}

static void support(const Way *w, double s, int64_t *last, double *place, double *slope, Roll *roll) {
    if (!(w->wheelbase > 0.0)) { on_way(w, s, last, place, slope, roll); return; }
    double other[3], turn[3];
    Roll second;
    on_way(w, s + 0.5 * w->wheelbase, last, place, slope, roll);
    on_way(w, s - 0.5 * w->wheelbase, last + 1, other, turn, &second);
    for (int k = 0; k < 3; k++) { place[k] = 0.5 * (place[k] + other[k]); slope[k] = 0.5 * (slope[k] + turn[k]); }
    *roll = mean_of(*roll, second);
}

static void axes_of(const double *chord, Roll roll, double *axes) {
    double f[3], up[3], length = root(dot(chord, chord));
    for (int k = 0; k < 3; k++) f[k] = chord[k] / length;
    double level = root(f[0] * f[0] + f[1] * f[1]);
    double left[3] = {-f[1] / level, f[0] / level, 0.0};
    up[0] = -f[2] * left[1]; up[1] = f[2] * left[0]; up[2] = f[0] * left[1] - f[1] * left[0];
    for (int k = 0; k < 3; k++) {
        axes[k] = f[k];
        axes[3 + k] = roll.cosine * left[k] + roll.sine * up[k];
        axes[6 + k] = roll.cosine * up[k] - roll.sine * left[k];
    }
}

/* Half the distance in station between the supports by Newton's rule, and the pose; what is left of the
 * distance that cannot be closed, otherwise 0. `last` holds where each axle was found before. */
static double stand(const Way *w, double s, int64_t *last, double *half, double *origin, double *axes) {
    double apart = first_guess(w, s, last + 4), left_over = 0.0;
    for (int step = 0; step < MOST_STEPS; step++) {
        double ahead[3], behind[3], first[3], second[3], chord[3], opening = 0.0;
        Roll roll, other;
        support(w, s + apart, last, ahead, first, &roll);
        support(w, s - apart, last + 2, behind, second, &other);
        for (int k = 0; k < 3; k++) chord[k] = ahead[k] - behind[k];
        double length = root(dot(chord, chord));
        left_over = length - w->spacing;
        for (int k = 0; k < 3; k++) opening += chord[k] * (first[k] + second[k]);
        opening /= length;
        if (opening < 0.5 || apart > w->spacing) break; /* the line has turned back on itself in between */
        double move = -left_over / opening;
        if (!(size_of(left_over) < CLOSE)) { apart += move; continue; }
        for (int k = 0; k < 3; k++) {
            ahead[k] += move * first[k];
            behind[k] -= move * second[k];
            chord[k] = ahead[k] - behind[k];
            origin[k] = 0.5 * (ahead[k] + behind[k]);
        }
        Roll mean = mean_of(roll, other);
        double turn = 0.5 * move * (roll.slope - other.slope), sine = mean.sine;
        mean.sine += turn * mean.cosine;
        mean.cosine -= turn * sine;
        axes_of(chord, mean, axes);
        *half = apart + move;
        return 0.0;
    }
    return left_over == 0.0 ? INF : left_over;
}

static Way make_way(const int64_t *counts, const double *sizes, const double *start, const double *rows) {
    Way w;
    w.count = counts[0]; w.start = start; w.rows = rows; w.spacing = sizes[0]; w.wheelbase = sizes[1];
    return w;
}

/* Poses at stations. counts: pieces of the way, stations; sizes: spacing of the supports, wheelbase of each.
 * Returns the number of poses done; `left_over` holds what could not be closed if they are fewer. */
EXPORT int64_t poses(const int64_t *counts, const double *sizes, const double *start, const double *rows,
                     const double *stations, double *half, double *origin, double *axes, double *left_over) {
    Way w = make_way(counts, sizes, start, rows);
    int64_t last[5] = {0, 0, 0, 0, 0};
    for (int64_t n = 0; n < counts[1]; n++) {
        *left_over = stand(&w, stations[n], last, half + n, origin + 3 * n, axes + 9 * n);
        if (*left_over != 0.0) return n;
    }
    return counts[1];
}

/* How far a motion leaves a chord: for a point at `centre`, and how this grows with the distance from there. */
static void leave_chord(const double *turn, const double *shift, const double *centre, const double *chord_turn,
                        const double *chord_shift, double *constant, double *growth) {
    double off[3], square = 0.0;
    for (int i = 0; i < 3; i++) {
        double e[3];
        for (int k = 0; k < 3; k++) { e[k] = turn[3 * i + k] - chord_turn[3 * i + k]; square += e[k] * e[k]; }
        off[i] = shift[i] - chord_shift[i] - dot(e, centre);
    }
    *constant = most_of(*constant, root(dot(off, off)));
    *growth = most_of(*growth, root(square));
}

static void mix(double t, const double *a, const double *b, int count, double *out) {
    for (int k = 0; k < count; k++) out[k] = a[k] + t * (b[k] - a[k]);
}

static void shift_of(const double *turn, const double *origin, double *shift) {
    for (int i = 0; i < 3; i++) shift[i] = dot(turn + 3 * i, origin);
}

/* Deviation within each cell, from poses at the nodes and then at its first, second and third quarter. */
EXPORT void cell_bounds(const int64_t *counts, const double *axes, const double *origin, double *constant,
                        double *growth) {
    int64_t cells = counts[0];
    for (int64_t n = 0; n < cells; n++) {
        double low[3], high[3], shift[3], chord[12];
        constant[n] = growth[n] = 0.0;
        shift_of(axes + 9 * n, origin + 3 * n, low);
        shift_of(axes + 9 * (n + 1), origin + 3 * (n + 1), high);
        for (int k = 0; k < 3; k++) {
            int64_t at = cells + 1 + k * cells + n;
            mix(0.25 * (k + 1), axes + 9 * n, axes + 9 * (n + 1), 9, chord);
            mix(0.25 * (k + 1), low, high, 3, chord + 9);
            shift_of(axes + 9 * at, origin + 3 * at, shift);
            leave_chord(axes + 9 * at, shift, origin + 3 * at, chord, chord + 9, constant + n, growth + n);
        }
    }
}

/* The same over 2, 4, 8 ... cells, behind those of the cells: what the nodes in between leave, and the cells. */
EXPORT void interval_bounds(const int64_t *counts, const double *nodes, const double *axes, const double *origin,
                            const double *shift, const int64_t *level_start, double *constant, double *growth) {
    int64_t cells = counts[0];
    for (int64_t level = 1; level < counts[1]; level++) {
        int64_t width = (int64_t)1 << level, number = level_start[level];
        for (int64_t low = 0; low < cells; low += width, number++) {
            int64_t high = low + width < cells ? low + width : cells;
            double most = 0.0, most_growth = 0.0, chord[12];
            constant[number] = growth[number] = 0.0;
            for (int64_t n = low; n < high; n++) {
                double t = (nodes[n] - nodes[low]) / (nodes[high] - nodes[low]);
                mix(t, axes + 9 * low, axes + 9 * high, 9, chord);
                mix(t, shift + 3 * low, shift + 3 * high, 3, chord + 9);
                leave_chord(axes + 9 * n, shift + 3 * n, origin + 3 * ((low + high) / 2), chord, chord + 9,
                            constant + number, growth + number);
                most = most_of(most, constant[n]); most_growth = most_of(most_growth, growth[n]);
            }
            constant[number] += most; growth[number] += most_growth;
        }
    }
}

#define POINTS 17

typedef struct { const Way *way; const Prism *prism; const double *corners; double *origin, *axes; int64_t *last; } Pair;

static int contact_at(const Pair *p, double s, Contact *c) {
    double half, seen[9];
    if (stand(p->way, s, p->last, &half, p->origin, p->axes) != 0.0) return 0;
    for (int k = 0; k < 3; k++) {
        double d[3];
        for (int i = 0; i < 3; i++) d[i] = p->corners[3 * k + i] - p->origin[i];
        for (int i = 0; i < 3; i++) seen[3 * k + i] = dot(p->axes + 3 * i, d);
    }
    touch(p->prism, seen, c);
    return 1;
}

static inline double between(double x, double low, double high) { return x < low ? low : (x > high ? high : x); }

/* Move each pair's station to where it is closest.
 *
 * counts: pieces of the way, pairs, pieces of the body.
 * sizes: spacing, wheelbase, first and last station, half the window, the finest half, the rise of a minimum.
 * Out for each pair: station, origin (3), axes (9), distance, point on the prism (3), weights (3), and 1 if the
 * distance rises to both sides. Returns the number of pairs done.
 */
EXPORT int64_t polish(const int64_t *counts, const double *sizes, const double *start, const double *rows,
                      const double *lengths, const double *yz, const int64_t *yz_start, const double *corners,
                      const int64_t *piece, const double *stations, double *out) {
    Way w = make_way(counts, sizes, start, rows);
    double first = sizes[2], final = sizes[3];
    int64_t last[5] = {0, 0, 0, 0, 0};
    for (int64_t n = 0; n < counts[1]; n++) {
        int64_t k = piece[n];
        double *row = out + 21 * n, origin[3], axes[9], middle = stations[n];
        Prism prism;
        make_prism(&prism, lengths[2 * k], lengths[2 * k + 1], yz + 2 * yz_start[k],
                   (int)(yz_start[k + 1] - yz_start[k]));
        Pair pair = {&w, &prism, corners + 9 * n, origin, axes, last};
        Contact c;
        for (double half = sizes[4]; half > sizes[5]; half *= 2.0 / (POINTS - 1)) {
            double least = INF, best = middle;
            for (int i = 0; i < POINTS; i++) {
                double s = between(middle + half * ((double)i * (2.0 / (POINTS - 1)) - 1.0), first, final);
                if (!contact_at(&pair, s, &c)) return n;
                if (c.distance < least) { least = c.distance; best = s; }
            }
            middle = best;
        }
        int rises = 1;
        double there[3];
        for (int i = 0; i < 3; i++) {
            double s = between(middle + (i - 1) * sizes[4], first, final);
            if (!contact_at(&pair, s, &c)) return n;
            there[i] = c.distance;
        }
        for (int i = 0; i < 3; i += 2) {
            double s = between(middle + (i - 1) * sizes[4], first, final);
            if (!(there[i] > there[1] + sizes[6]) && s != middle) rises = 0;
        }
        if (!contact_at(&pair, middle, &c)) return n;
        row[0] = middle;
        for (int i = 0; i < 3; i++) { row[1 + i] = origin[i]; row[14 + i] = c.on_prism[i]; row[17 + i] = c.weight[i]; }
        for (int i = 0; i < 9; i++) row[4 + i] = axes[i];
        row[13] = c.distance;
        row[20] = rises;
    }
    return counts[1];
}
