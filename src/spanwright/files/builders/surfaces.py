"""Which surface a height is taken to, and what lies between it and the mark's own surface.

A mark on track has the railhead as its own surface. Below it lie the tie top, the roadbed top and the
board, in this order; the layers between are measured and given under ``[layers]``.
"""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.estimation.inputs import Size
from spanwright.files.builders import sizes
from spanwright.files.builders.context import Context
from spanwright.files.builders.marks import GROUND, PEG, RAILHEAD
from spanwright.files.schema.job import Layers
from spanwright.files.source import Keys

#: Surface of track -> layers between it and the railhead.
BELOW_RAILHEAD: dict[str, tuple[str, ...]] = {
    RAILHEAD: (),
    "tie": ("rail",),
    "roadbed": ("rail", "tie"),
    "board": ("rail", "tie", "roadbed"),
}
OFF_TRACK = {PEG: (PEG,), GROUND: (GROUND, "board")}


def build_layers(ctx: Context, table: Layers) -> dict[str, Size]:
    """Return the layers that the job gives.

    Parameters
    ----------
    ctx : Context
        The loading.
    table : Layers
        The ``[layers]`` table.

    Returns
    -------
    dict
        Sizes by name of the layer.

    Raises
    ------
    InputError
        If a size cannot be meant, or the dap is not less than the tie.
    """
    found = {}
    for name in ("rail", "tie", "roadbed", "bridge_tie", "dap"):
        layer = getattr(table, name)
        if layer is not None:
            label = f"thickness of {name.replace('_', ' ')}" if name != "dap" else "dap of the ties"
            found[name] = sizes.measured(
                ctx, ("layers", name), layer, f"layers/{name}", label=label, by=table.by
            )
    dap, tie = found.get("dap"), found.get("bridge_tie")
    if dap is not None and tie is not None and sizes.mean(ctx, dap) >= sizes.mean(ctx, tie):
        raise ctx.source.error(
            ("layers", "dap"),
            "the dap is not less than the thickness of the bridge tie",
            code="JO049",
            value=sizes.as_read(table.dap) if table.dap else None,
            limit=f"less than the {sizes.mean(ctx, tie):.3g} mm of bridge_tie",
            hint="dap is how deep the tie is notched over the girder: leave it out if it is not notched",
        )
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Surfaces:
    """The surfaces of all marks.

    Parameters
    ----------
    ctx : Context
        The loading.
    own : dict
        Own surface of each mark.
    layers : dict
        Measured layers.
    """

    ctx: Context
    own: dict[str, str]
    layers: dict[str, Size]

    def checked(self, keys: Keys, key: str, mark: str, word: str | None) -> str:
        """Return the surface that was touched at a mark.

        Parameters
        ----------
        keys : tuple
            Where the reading stands.
        key : str
            Key that says the surface.
        mark : str
            The mark.
        word : str or None
            The surface as written; None if it was not.

        Returns
        -------
        str
            The surface.

        Raises
        ------
        InputError
            If a mark on track does not say its surface, or the surface is not one of the mark's.
        """
        own = self.own[mark]
        choices = tuple(BELOW_RAILHEAD) if own == RAILHEAD else OFF_TRACK[own]
        if word is None:
            if own != RAILHEAD:
                return own
            raise self.ctx.source.error(
                keys,
                f"this reading does not say which surface was touched at {mark}",
                code="JO047",
                limit=f"{key} = one of: {', '.join(choices)}",
            )
        return self.ctx.choice(
            (*keys, key), word, choices, what=f"there is no such surface at {mark}", code="JO047"
        )

    def drops(self, keys: Keys, upper: str, lower: str) -> tuple[tuple[str, float], ...]:
        """Return the sizes that lead from the surfaces touched to the marks' own surfaces.

        Parameters
        ----------
        keys : tuple
            Where the reading stands.
        upper : str
            Surface at the mark whose height was read.
        lower : str
            Surface at the mark above which it was read; empty for none.

        Returns
        -------
        tuple of (str, float)
            Base inputs and factors. [1]

        Raises
        ------
        InputError
            If a layer is not in ``[layers]``.
        """
        counts: dict[str, int] = {}
        for surface, sign in ((upper, 1), (lower, -1)):
            for layer in BELOW_RAILHEAD.get(surface, ()):
                counts[layer] = counts.get(layer, 0) + sign
        factors: list[tuple[str, float]] = []
        for layer, count in counts.items():
            if count == 0:
                continue
            if layer not in self.layers:
                raise self.ctx.source.error(
                    keys,
                    f"this reading needs the thickness of the layer {layer}",
                    code="JO048",
                    limit=f'in [layers]: {layer} = {{ is = "...", by = "caliper" }}',
                )
            factors += [(key, count * weight) for key, weight in sizes.weights(self.ctx, self.layers[layer])]
        return tuple(factors)
