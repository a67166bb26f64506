"""What a four-wheel drive adds: a driven and steered front axle, a transfer case; context under the vehicle."""

from __future__ import annotations

from engine.shapes import bar, block, soft
from engine.solid import Body, Label


def driven_front_axle(b: Body, x: float, z: float, reach: float, *, head: float = 0) -> None:
    """A front axle with its gear housing at y = head, its pinion rearwards, steering knuckles and tie rod."""
    housing = [(-230, 46), (-170, 60), (-140, 150), (-60, 168), (0, 168), (80, 150), (110, 60), (170, 46)]
    profile = [(-reach, 44), *((head + h, r) for h, r in housing), (reach, 44)]
    b.turn("running", (x, 0, z), soft(profile, 3), Label("frontaxle", None, "part"), n=90)
    b.turn(
        "running", (x + 100, head, z), [(0, 78), (20, 60), (72, 60), (72, 0)], Label("frontpinion", None, "part"), n=60, axis="x"
    )
    for s in (1, -1):
        ball = [(s * (reach - 90), 0), (s * (reach - 84), 70), (s * (reach - 40), 96), (s * reach, 96), (s * reach, 0)]
        b.turn("running", (x, 0, z), soft(ball, 2), Label(f"knuckle{s}", None, "part"), n=60)
    rod = [(x + 150, y, z - 20) for y in (-reach + 30, 0, reach - 30)]
    b.sweep("running", rod, bar(28, 28, 12), Label("tierod", None, "part"))


def transfer_case(b: Body, x0: float, x1: float, y: float, z: float) -> None:
    """A case behind the gearbox that reaches out to the side where the shafts leave, at y."""
    wide = block(x0, min(y - 95, -90), x1, max(y + 95, 90), 40)
    b.prism("running", "xy", wide, z - 110, z + 70, Label("transfer", None, "part"))
