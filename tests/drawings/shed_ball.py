"""A small ball for drawings: five rings of 12, 20, 24, 20 and 12 pixels in pieces of at most 12."""

from buildlog.core.work.map_cell import MapCell
from buildlog.core.work.stages import Stage

RINGS = (12, 20, 24, 20, 12)


def cells(**changes) -> list[MapCell]:
    """All segments, not begun; ``changes`` by code with _ for -, like R3_1={"done": (12, 0, 0, 0)}."""
    out = []
    for ring, pixels in enumerate(RINGS, start=1):
        pieces = -(-pixels // 12)
        for piece in range(1, pieces + 1):
            wide = 360.0 / pieces
            what = dict(
                code=f"R{ring}-{piece}", ring=ring, piece=piece, pixels=pixels // pieces,
                from_deg=(piece - 1) * wide, to_deg=piece * wide,
            )  # fmt: skip
            out.append(MapCell(**what | changes.get(f"R{ring}_{piece}", {})))
    return out


DONE = (12, 12, 12, 12)
POPULATE = (Stage.POPULATE,)
