"""What is round the vehicle: ground, wall, shed, hills, sky, sun, torch and flash."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import bpy
import numpy as np
from camera import Camera
from nodes import Val, mix, noise, picture, place, plug
from pieces import FLIP, Floats, load, mesh_of, new_material, plane


@dataclass(frozen=True)
class Light:
    """sky: brightness of the open sky; sun: strength, height and direction in degrees (0 from the front, 90 from the left).

    torch: watts of a lamp `torch_at` mm (right, down, forward) from the camera; flash: watts at the camera.
    warm: 0..1, the low light of an evening.
    """

    sky: float = 1.0
    sun: float = 0.0
    sun_high: float = 40.0
    sun_from: float = 60.0
    torch: float = 0.0
    torch_at: tuple[float, float, float] = (-260.0, 160.0, 0.0)
    flash: float = 0.0
    warm: float = 0.0


def ground(textures: Path, kind: str = "gravel", wall: str = "", wall_at: float = 4200.0, wall_side: float = -1.0) -> None:
    """Ground: gravel, concrete, stone, dirt, grass. wall: brick, boards, sheet, or a hedge; on the left (1) or right (-1)."""
    tree, skin, out = new_material("ground")
    p = place(tree)
    broad, middle, fine_ = noise(tree, p, 0.8, 3), noise(tree, p, 12, 4), noise(tree, p, 160, 2)
    tone = {
        "gravel": ((0.16, 0.145, 0.125), (0.42, 0.40, 0.36)),
        "concrete": ((0.24, 0.235, 0.22), (0.40, 0.39, 0.37)),
        "stone": ((0.12, 0.105, 0.085), (0.28, 0.25, 0.21)),
        "dirt": ((0.12, 0.085, 0.055), (0.30, 0.22, 0.15)),
        "grass": ((0.03, 0.06, 0.012), (0.13, 0.18, 0.045)),
    }[kind]
    file = {"gravel": "negative_defense_wall", "stone": "negative_stone_floor", "concrete": "negative_concrete"}.get(kind)
    share = middle * 0.5 + fine_ * 0.5
    if file:
        grey = picture(tree, load(textures / f"{file}.jpg"), p.scaled(0.9, 0.9, 0.9), boxed=True)[0].parts()[1]
        share = (grey.power(0.7) * 0.75 + (fine_ - 0.5) * 0.5 + (broad - 0.4) * 0.5).least(1).most(0)
    colour = mix(tree, share.rise(0.25, 0.75), tone[0], tone[1])
    plug(tree, mix(tree, (broad - 0.52).most(0) * 3, colour, tone[0]), skin.inputs["Base Color"])
    bump = tree.nodes.new("ShaderNodeBump")
    bump.inputs["Distance"].default_value = 0.004 if kind == "concrete" else 0.02
    plug(tree, share, bump.inputs["Height"])
    tree.links.new(bump.outputs[0], skin.inputs["Normal"])
    skin.inputs["Roughness"].default_value = 0.9
    plane((0, 0, 0), (60, 0, 0), (0, 60, 0), out)
    _hills()
    if wall:
        _wall(textures, wall, wall_at, wall_side)


def _wall(textures: Path, kind: str, at: float, side: float) -> None:
    tree, skin, out = new_material("wall")
    p = place(tree)
    file, size, tone = {
        "brick": ("negative_brick", 0.8, ((0.10, 0.045, 0.03), (0.36, 0.22, 0.16))),
        "boards": ("negative_wood", 0.9, ((0.10, 0.06, 0.035), (0.33, 0.23, 0.14))),
        "sheet": ("negative_factory_wall", 0.5, None),
    }[kind]
    colour, _ = picture(tree, load(textures / f"{file}.jpg"), p.scaled(size, size, size), boxed=True)
    if tone:
        colour = mix(tree, colour.parts()[0].rise(0.1, 0.75), *tone)
    plug(tree, mix(tree, noise(tree, p, 1.3) * 0.5, colour, (0.09, 0.08, 0.07)), skin.inputs["Base Color"])
    skin.inputs["Roughness"].default_value = 0.85
    plane((1.5, -side * at / 1000, 1.6), (14, 0, 0), (0, 0, 1.8), out)


def room(textures: Path) -> None:
    """Walls and a roof round the vehicle, a doorway of light behind the camera's usual side: a shed."""
    tree, skin, out = new_material("room")
    p = place(tree)
    wood = picture(tree, load(textures / "negative_wood.jpg"), p.scaled(0.7, 0.7, 0.7), boxed=True)[0]
    plug(tree, mix(tree, wood.parts()[0], (0.05, 0.035, 0.025), (0.24, 0.17, 0.11)), skin.inputs["Base Color"])
    for middle, a, b in (
        ((1.5, -3.2, 1.6), (6, 0, 0), (0, 0, 1.7)),
        ((1.5, 3.4, 1.6), (6, 0, 0), (0, 0, 1.7)),
        ((6.8, 0, 1.6), (0, 5, 0), (0, 0, 1.7)),
        ((1.5, 0, 3.2), (6, 0, 0), (0, 5, 0)),
    ):
        plane(middle, a, b, out)


def lit(scene: Any, light: Light, camera: Camera) -> None:
    """Sky, sun and lamps. Lamps of an earlier call go."""
    for old in [o for o in scene.objects if o.type == "LIGHT"]:
        bpy.data.objects.remove(old)
    world = bpy.data.worlds.get("sky") or bpy.data.worlds.new("sky")
    scene.world = world
    world.use_nodes = True
    tree = world.node_tree
    tree.nodes.clear()
    out, back = tree.nodes.new("ShaderNodeOutputWorld"), tree.nodes.new("ShaderNodeBackground")
    way = Val(tree, tree.nodes.new("ShaderNodeTexCoord").outputs["Generated"])
    height = way.parts()[2]
    clouds = noise(tree, way.scaled(1, 1, 2.2), 2.6, 7, 0.55)
    warm = light.warm
    low, high = (0.80 + 0.2 * warm, 0.82, 0.84 - 0.3 * warm), (0.30 + 0.2 * warm, 0.42, 0.66 - 0.2 * warm)
    colour = mix(tree, height.rise(0.0, 0.7), low, high if light.sun else (0.66, 0.69, 0.73))
    colour = mix(tree, clouds.rise(0.42, 0.7) * 0.75, colour, (0.93, 0.93, 0.93))
    plug(tree, colour, back.inputs["Color"])
    back.inputs["Strength"].default_value = light.sky
    tree.links.new(back.outputs[0], out.inputs[0])
    if light.sun:
        turn = (math.radians(90 - light.sun_high), 0, math.radians(light.sun_from + 180))
        sun = _lamp(scene, "SUN", light.sun, (0, 0, 5), turn)
        sun.angle, sun.color = math.radians(0.7), (1.0, 0.93, 0.82)
    right, down, forward = camera.axes()
    eye = np.asarray(camera.at)
    for watts, shift, wide in ((light.torch, light.torch_at, 1.1), (light.flash, (12.0, -8.0, -4.0), 1.5)):
        if watts:
            at = eye + right * shift[0] + down * shift[1] + forward * shift[2]
            way_to = np.asarray(camera.aim, float) - at
            spot = _lamp(scene, "SPOT", watts, tuple(at * FLIP), _facing(way_to * FLIP))
            spot.spot_size, spot.spot_blend, spot.shadow_soft_size = wide, 0.7, 0.008
            spot.color = (1.0, 0.96, 0.90)


def _lamp(scene: Any, kind: str, strength: float, at: tuple[float, ...], turn: tuple[float, ...]) -> Any:
    lamp = bpy.data.lights.new(kind.lower(), kind)
    lamp.energy = strength
    placed = bpy.data.objects.new(kind.lower(), lamp)
    placed.location, placed.rotation_euler = at, turn
    scene.collection.objects.link(placed)
    return lamp


def _facing(way: Floats) -> tuple[float, float, float]:
    """Euler angles of a lamp (which looks along -z) towards `way`."""
    x, y, z = way / np.linalg.norm(way)
    return (math.acos(max(-1.0, min(1.0, -z))), 0.0, math.atan2(y, x) - math.pi / 2)


def _hills() -> None:
    """A rim of trees and hills far round the vehicle."""
    tree, skin, material = new_material("hills")
    p = place(tree)
    plug(tree, mix(tree, noise(tree, p, 0.9, 6), (0.012, 0.022, 0.008), (0.10, 0.13, 0.055)), skin.inputs["Base Color"])
    skin.inputs["Roughness"].default_value = 1.0
    turn = np.linspace(0, 2 * np.pi, 241)
    rng = np.random.default_rng(4)
    top = 3.0 + sum(rng.normal(0, 1.2 / k) * np.sin(k * turn + rng.uniform(0, 6)) for k in range(1, 40))
    ring = np.stack([1.5 + 34 * np.cos(turn), 34 * np.sin(turn)], 1)
    low, high = np.column_stack([ring, 0 * turn - 0.5]), np.column_stack([ring, np.maximum(top, 1.2)])
    i = np.arange(240)
    mesh = mesh_of("hills", np.vstack([low, high]), np.stack([i, i + 1, i + 242, i + 241], 1))
    mesh.materials.append(material)
