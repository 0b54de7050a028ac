"""Spanwright: structures in, over and beside model railway track, settled before the saw comes out.

Start reading at :mod:`spanwright.job`.
"""

__version__ = "0.1.0"
