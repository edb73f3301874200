"""G-code files as other programs and other hands write them.

For the plain lid of ``small_jobs``.
"""

from __future__ import annotations

from tests.small_jobs import PLAIN, changed

LEFT, RIGHT, NEAR, FAR = -30.0, -6.0, -8.0, 8.0
"""The plate, from the middle of the blank, in mm."""


def inch(value_mm: float) -> str:
    return f"{value_mm / 25.4:.5f}"


def plate_rings(depth_mm: float = 2.2, radius_mm: float = 1.5875, passes: int = 3) -> str:
    """Clear the plate in rings: inches, radius arcs, bare words, comments in both styles.

    The zero lies on the middle of the blank; a corner of 3 mm leaves the axis one of 1.4125 mm.
    """
    lines = ["%", "(plate, by hand)", "g20 g90 g94 g17", "g0 z.2 ; up", "s18000 m3", "t7 m6"]
    lines.append(f"g0 x{inch(-18.0)} y0")
    for turn in range(1, passes + 1):
        lines.append(f"g1 z{inch(-depth_mm * turn / passes)} f20 (down)")
        for ring in range(1, 7):
            lines += _ring(radius_mm + (6 - ring) * 1.06)
        lines.append(f"g1 x{inch(-18.0)} y0")
    return "\r\n".join([*lines, "g0 z.2", "m5", "m30", "%", ""])


def _ring(inset_mm: float) -> list[str]:
    x0, x1, y0, y1 = LEFT + inset_mm, RIGHT - inset_mm, NEAR + inset_mm, FAR - inset_mm
    corner = 3.0 - inset_mm
    if corner <= 0.0:
        ends = ((x1, y0), (x1, y1), (x0, y1), (x0, y0))
        return [
            f"g1 x{inch(x0)} y{inch(y0)} f40",
            *(f"x{inch(x)} y{inch(y)}" for x, y in ends),
        ]
    r = inch(corner)
    return [
        f"g1 x{inch(x0 + corner)} y{inch(y0)} f40",
        f"x{inch(x1 - corner)}",
        f"g3 x{inch(x1)} y{inch(y0 + corner)} r{r}",
        f"g1 y{inch(y1 - corner)}",
        f"g3 x{inch(x1 - corner)} y{inch(y1)} r{r}",
        f"g1 x{inch(x0 + corner)}",
        f"g3 x{inch(x0)} y{inch(y1 - corner)} r{r}",
        f"g1 y{inch(y0 + corner)}",
        f"g3 x{inch(x0 + corner)} y{inch(y0)} r{r}",
    ]


def holes_in_cycles() -> str:
    """Drill the six holes: mm, a pecking cycle, no line numbers."""
    return "\n".join(
        [
            "G21 G90",
            "G0 Z10",
            "M3 S12000",
            "X57 Y31",
            "G99 G83 Z-8 R1 Q3 F300",
            "X65",
            "X73",
            "Y39",
            "X65",
            "X57",
            "G80",
            "G0 Z10",
            "M2",
        ]
    )


def job_with(step: str, files: str, more: str = "", text: str = PLAIN) -> str:
    """Return a job whose step is done by imported files."""
    return changed(
        "front:\n",
        f"imported files:\n  - step: {step}\n    files: [{files}]\n{more}front:\n",
        text,
    )


PLATE = "{file: plate.NC, bit: 3.175 mm flat}"
MIDDLE = "    zero from: middle\n"
