"""The material of painted metal and of what happens to it: one tree of nodes, the same for every sheet.

What covers what, from below: paint, primer where paint is gone, patch, staining, dirt, rust and scale, fresh coating over all.
The same numbers that colour a picture say where each sign is, so masks and pictures cannot part.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from nodes import Val, attribute, cells, emission, mix, noise, number, picture, place, plug, seen_through, upward, vector

RUST_AT = 0.5
SEEN = ("rust", "bubbling", "coating", "stain", "hole", "scale")
SIGN_SETS = (
    ("signs1", ("rust", "bubbling", "coating")),
    ("signs2", ("stain", "hole", "scale")),
    ("signs3", ("dirt", "primer", "patch")),
)


@dataclass(frozen=True)
class Looks:
    """The tree's sockets for the two pictures that are taken: beauty, and where.

    where: red 64 times the number of the sheet from 1, plus a bit for each sign of SEEN; green, blue the place on the sheet.
    """

    beauty: Any
    where: Any


@dataclass(frozen=True)
class Wear:
    """How rust looks on this vehicle. coarse: times the usual size of its spots; soft: of its edge, as a share of the noise.

    tint: factors of its red, green and blue; film, deep: names of the textures of light and of deep rust.
    """

    coarse: float = 1.0
    soft: float = 0.012
    tint: tuple[float, float, float] = (1.0, 1.0, 1.0)
    film: str = "rust_metal053c.jpg"
    deep: str = "rust_metal_05.jpg"


@dataclass(frozen=True)
class Base:
    """What lies under. height in mm; glass: above 0.9 a window; there: whether the sheet exists at this place."""

    colour: Val
    rough: Val
    metal: Val
    glass: Val
    height: Val
    there: Val


def metal(tree: Any, base: Base, textures: dict[str, Any], present: frozenset[str], wear: Wear) -> Looks:
    """Build the tree for metal on which the signs `present` (ills.SIGNS) occur, with "cut" where it has openings and "glass".

    What does not occur is left out, for every node is worked out at every ray. textures: images named film, deep.
    """
    p = place(tree)
    given = {}
    for name, signs in SIGN_SETS:
        if present & set(signs):
            given |= dict(zip(signs, attribute(tree, name).parts(), strict=True))
    broad, fine = noise(tree, p, 9 / wear.coarse, 4, 0.66), noise(tree, p, 240, 1)
    middle = noise(tree, p.moved(3, 1, 7), 34 / wear.coarse, 3, 0.62) if given else broad
    speckle = broad * 0.62 + middle * 0.38
    none = number(tree, 0)

    def covered(weight: Val, field: Val, soft: float) -> Val:
        """About `weight` of the metal: noise is nearly normal about 0.5."""
        edge = 0.5 + (0.5 - weight) * 0.42
        return field.rise(edge - soft, edge + soft) * weight.over(0.004)

    rust = hole = near_hole = scale = coat = dome = none
    colour = mix(tree, (broad - 0.35).most(0) * 0.5, base.colour, mix(tree, 0.4, base.colour, (0.5, 0.47, 0.42)))
    rough = base.rough + (broad - 0.5) * 0.18
    height = base.height
    if "primer" in present:
        red = mix(tree, middle, (0.21, 0.045, 0.03), (0.3, 0.09, 0.06))
        colour = mix(tree, covered(given["primer"], speckle, 0.006), colour, red)
    if "patch" in present:
        patch = given["patch"].over(0.5)
        colour = mix(tree, patch, colour, mix(tree, middle, (0.09, 0.09, 0.095), (0.17, 0.17, 0.175)))
        height = height + patch * (1.6 + (middle - 0.5) * 1.5)
    stain = none
    if "stain" in present:
        x, y, z = p.parts()
        runs = noise(tree, vector(tree, x, y, z * 0.055), 55, 3, 0.6)
        stain = covered(given["stain"], runs, 0.09) * 0.85
        colour = mix(tree, stain, colour, mix(tree, middle, (0.20, 0.075, 0.02), (0.36, 0.17, 0.06)))
    if "bubbling" in present:
        dome, opened = _blisters(tree, p, given["bubbling"], broad)
        height = height + dome * (1.5 + given["bubbling"])
        rust = rust.most(opened.rise(0.3, 0.5))
    if "hole" in present:
        eaten = broad * 0.7 + middle * 0.3
        hole = covered(given["hole"], eaten, 0.004)
        near_hole = covered((given["hole"] * 1.5).least(0.96), eaten, 0.02)
        rust = rust.most(near_hole)
        height = height - near_hole * 1.4
    if "scale" in present:
        scale = covered(given["scale"], speckle, 0.02)
        rust = rust.most(scale)
    if "rust" in present:
        weight = given["rust"]
        rust = rust.most(covered(weight, speckle, wear.soft))
        halo = covered((weight * 1.25 + 0.015).least(0.98) * weight.over(0.01), speckle, 0.06)
        colour = mix(tree, halo * 0.55, colour, (0.24, 0.10, 0.035))
    if present & {"rust", "scale", "hole", "bubbling"}:
        film, _ = picture(tree, textures["film"], p.scaled(2.3, 2.3, 2.3), boxed=True)
        deep, _ = picture(tree, textures["deep"], p.scaled(1.7, 1.7, 1.7), boxed=True)
        grain = mix(tree, fine, (0.035, 0.013, 0.007), (0.28, 0.105, 0.035))
        iron = mix(tree, 0.5, mix(tree, broad.rise(0.4, 0.62), deep, film), grain)
        if "scale" in present:
            flakes = mix(tree, middle.rise(0.4, 0.6), (0.022, 0.012, 0.009), (0.13, 0.05, 0.022))
            iron = mix(tree, scale * 0.65, iron, flakes)
            flake, _ = cells(tree, p.moved(0, 0, 5), 130)
            height = height + scale * (flake.rise(0.2, 0.6) * 1.6 + (middle - 0.5) * 3)
        if wear.tint != (1.0, 1.0, 1.0):
            iron = iron.scaled(*wear.tint)
        colour = mix(tree, rust, colour, iron)
        rough = rough * (1 - rust) + rust * 0.88
        height = height + rust * ((middle - 0.35) * 0.9 + (fine - 0.5) * 0.7)
    dirt = none
    if "dirt" in present:
        dust = noise(tree, p.moved(9, 9, 9), 14, 4, 0.7)
        dirt = (given["dirt"] * (0.45 + upward(tree).most(0) * 0.9) * dust.rise(0.3, 0.66)).least(0.93)
        colour = mix(tree, dirt, colour, mix(tree, middle, (0.10, 0.075, 0.052), (0.23, 0.185, 0.135)))
        rough = rough * (1 - dirt) + dirt * 0.95
    if "coating" in present:
        coat = covered(given["coating"], noise(tree, p, 5, 3, 0.7) * 0.7 + middle * 0.3, 0.015) * (1 - hole)
        colour = mix(tree, coat, colour, mix(tree, fine, (0.006, 0.006, 0.0065), (0.013, 0.013, 0.014)))
        rough = rough * (1 - coat) + coat * (0.32 + middle * 0.16)
        height = height * (1 - coat * 0.45) + coat * (0.25 + (middle - 0.5) * 0.8)

    bump = tree.nodes.new("ShaderNodeBump")
    bump.inputs["Strength"].default_value = 1.0
    bump.inputs["Distance"].default_value = 0.001
    plug(tree, height, bump.inputs["Height"])
    skin = tree.nodes.new("ShaderNodeBsdfPrincipled")
    plug(tree, colour, skin.inputs["Base Color"])
    plug(tree, rough.least(0.98), skin.inputs["Roughness"])
    plug(tree, base.metal * (1 - rust.most(dirt).most(coat).most(stain)), skin.inputs["Metallic"])
    tree.links.new(bump.outputs[0], skin.inputs["Normal"])
    bits = (rust.over(RUST_AT), dome.over(0.12), coat.over(0.5), stain.over(0.3), hole.over(0.5), scale.over(0.5))
    code, u, v = attribute(tree, "where").parts()
    code = code * 64
    for k, bit in enumerate(bits):
        code = code + bit * float(2**k)
    beauty, where = skin.outputs[0], emission(tree, vector(tree, code, u, v))
    if "glass" in present:
        beauty = _window(tree, beauty, base.glass)
    if present & {"cut", "hole"}:
        exists = base.there.over(0.5)
        beauty, where = seen_through(tree, exists * (1 - hole.over(0.5)), beauty), seen_through(tree, exists, where)
    return Looks(beauty, where)


def _blisters(tree: Any, p: Val, weight: Val, broad: Val) -> tuple[Val, Val]:
    """Domes of three sizes, 0..1 high, and where they have burst."""
    dome = opened = number(tree, 0)
    for size, more in ((55, 1.0), (95, 0.8), (170, 0.55)):
        away, own = cells(tree, p.moved(size, 0, 0), size)
        kept = (own + (broad - 0.5) * 1.1).rise(0.86 - weight * 0.85, 0.9 - weight * 0.85) * weight.over(0.02)
        dome = dome.most((1 - away / 0.52).most(0).power(0.7) * kept * more)
        opened = opened.most(away.rise(0.2, 0.14) * kept * own.over(0.9) * (size / 170))
    return dome, opened


def _window(tree: Any, skin: Any, glass: Val) -> Any:
    """Clear glass where `glass` is near 1: mostly what is behind, with the sky on it."""
    clear, shine = tree.nodes.new("ShaderNodeBsdfTransparent"), tree.nodes.new("ShaderNodeBsdfGlossy")
    clear.inputs["Color"].default_value = (0.80, 0.85, 0.83, 1)
    shine.inputs["Roughness"].default_value = 0.02
    facing = tree.nodes.new("ShaderNodeFresnel")
    facing.inputs["IOR"].default_value = 1.5
    pane = tree.nodes.new("ShaderNodeMixShader")
    tree.links.new(facing.outputs[0], pane.inputs[0])
    tree.links.new(clear.outputs[0], pane.inputs[1])
    tree.links.new(shine.outputs[0], pane.inputs[2])
    both = tree.nodes.new("ShaderNodeMixShader")
    plug(tree, glass.over(0.9), both.inputs[0])
    tree.links.new(skin, both.inputs[1])
    tree.links.new(pane.outputs[0], both.inputs[2])
    return both.outputs[0]
