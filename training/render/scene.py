"""The vehicle in Blender: meshes with what lies on them, ground and surroundings, light.

Blender's axes are metres, right-handed: x rearwards, y to the vehicle's right, z up; the solid models have y to the left.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import bpy
import numpy as np
from camera import Camera
from cast import Fine, fine
from engine.solid import Body
from finish import Paint, finish, linear, texture
from ills import SIGNS, Ill, weights
from metal import SIGN_SETS, Base, Wear, metal
from nodes import Val, mix, noise, picture, place, plug
from numpy.typing import NDArray

Floats = NDArray[np.float64]
FLIP = np.array([0.001, -0.001, 0.001])


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


def empty() -> Any:
    """A scene with nothing in it, set up for small pictures on a processor."""
    bpy.ops.wm.read_factory_settings(use_empty=True)
    scene = bpy.context.scene
    scene.render.engine = "CYCLES"
    scene.cycles.device = "CPU"
    scene.cycles.diffuse_bounces = scene.cycles.glossy_bounces = 2
    scene.cycles.transparent_max_bounces, scene.cycles.light_sampling_threshold = 24, 0.05
    scene.cycles.caustics_reflective = scene.cycles.caustics_refractive = False
    scene.cycles.sample_clamp_indirect, scene.cycles.denoising_quality = 4, "FAST"
    scene.render.use_persistent_data = True
    return scene


def load(path: Path) -> Any:
    """An image from a file; FileNotFoundError names it."""
    if not path.is_file():
        raise FileNotFoundError(f"{path} is missing; give the folder of CC0 textures")
    return bpy.data.images.load(str(path))


def _image(name: str, pixels: NDArray[np.float32], *, raw: bool) -> Any:
    """An image of pixels; raw ones are kept as floats, for in eight bits heights would stand in steps."""
    high, wide = pixels.shape[:2]
    image = bpy.data.images.new(name, wide, high, alpha=True, float_buffer=raw)
    image.colorspace_settings.name = "Non-Color"
    image.alpha_mode = "CHANNEL_PACKED"
    stored = pixels.copy()
    if not raw:  # eight bits are too few for dark colours in linear light: keep the root
        stored[..., :3] = np.sqrt(stored[..., :3])
    image.pixels.foreach_set(stored.ravel())
    if not raw:
        image.pack()
    return image


class Stage:
    """A vehicle set up for pictures. textures: folder of the CC0 textures. weighed: weights of the ills, where known."""

    def __init__(
        self,
        body: Body,
        paint: Paint,
        ills: Sequence[Ill],
        textures: Path,
        *,
        without: Sequence[str] = (),
        only: Sequence[str] = (),
        wear: Wear | None = None,
        weighed: Sequence[Floats] | None = None,
    ) -> None:
        self.scene = empty()
        self._wear = wear or Wear()
        self.body, self.paint, self.textures = body, paint, textures
        self.sheets = fine(body, without, only)
        self._looks: list[tuple[Any, dict[str, Any]]] = []
        self._images = {"deep": load(textures / self._wear.deep), "film": load(textures / self._wear.film)}
        self._groups: dict[frozenset[str], Any] = {}
        self._of_metal: set[str] = set()
        self._parts: list[tuple[str, Any]] = []
        self._shown = ""
        self._vehicle(weights(body, self.sheets, ills) if weighed is None else weighed)

    # -- the vehicle -----------------------------------------------------------------------------
    def _tree(self, present: frozenset[str]) -> Any:
        if present in self._groups:
            return self._groups[present]
        group = bpy.data.node_groups.new("metal", "ShaderNodeTree")
        for name, kind in (
            ("Colour", "Color"),
            ("Rough", "Float"),
            ("Metal", "Float"),
            ("Glass", "Float"),
            ("Height", "Float"),
            ("There", "Float"),
        ):
            group.interface.new_socket(name, in_out="INPUT", socket_type=f"NodeSocket{kind}")
        names = ("beauty", "where")
        for name in names:
            group.interface.new_socket(name, in_out="OUTPUT", socket_type="NodeSocketShader")
        given, out = group.nodes.new("NodeGroupInput"), group.nodes.new("NodeGroupOutput")
        looks = metal(group, Base(*(Val(group, given.outputs[k]) for k in range(6))), self._images, present, self._wear)
        for name in names:
            group.links.new(getattr(looks, name), out.inputs[name])
        self._groups[present] = group
        return group

    def _material(self, name: str, present: frozenset[str]) -> tuple[Any, Any]:
        material = bpy.data.materials.new(name)
        material.use_nodes = True
        tree = material.node_tree
        tree.nodes.clear()
        used, out = tree.nodes.new("ShaderNodeGroup"), tree.nodes.new("ShaderNodeOutputMaterial")
        used.node_tree = self._tree(present)
        self._of_metal.add(material.name)
        self._looks.append((material, {k: used.outputs[k] for k in ("beauty", "where")} | {"out": out}))
        return material, used

    def _plain(self, number_of: int, part: str, present: frozenset[str], known: dict[Any, Any]) -> Any:
        label = self.body.labels[number_of]
        assert label is not None
        f = finish(label, part, self.paint)
        if (f, present) not in known:
            material, used = self._material(f"plain{len(known)}", present)
            for name, value in zip(
                ("Colour", "Rough", "Metal", "Glass", "Height", "There"),
                ((*linear(f.colour), 1), f.rough, f.metal, f.glass, 0.0, 1.0),
                strict=True,
            ):
                used.inputs[name].default_value = value
            known[f, present] = material
        return known[f, present]

    def _painted(self, one: Fine, present: frozenset[str]) -> Any:
        colours, more = texture(one.sheet, self.body.labels, self.paint)
        material, used = self._material(f"sheet{one.number}", present)
        tree = material.node_tree
        colour, there = picture(tree, _image(f"c{one.number}", colours, raw=False), uv="tex")
        rest, glass = picture(tree, _image(f"m{one.number}", more, raw=True), uv="tex")
        height, rough, shine = rest.parts()
        square = tree.nodes.new("ShaderNodeVectorMath")
        square.operation = "MULTIPLY"
        plug(tree, colour, square.inputs[0])
        plug(tree, colour, square.inputs[1])
        values = (Val(tree, square.outputs[0]), rough, shine, glass, (height - 0.5) * 40, there)
        for name, value in zip(("Colour", "Rough", "Metal", "Glass", "Height", "There"), values, strict=True):
            plug(tree, value, used.inputs[name])
        return material

    def _vehicle(self, signs: Sequence[Floats]) -> None:
        known: dict[Any, Any] = {}
        groups: dict[tuple[str, str], list[tuple[Fine, Floats]]] = {}
        materials: dict[str, Any] = {}
        for one, sign in zip(self.sheets, signs, strict=True):
            present = frozenset(name for k, name in enumerate(SIGNS) if sign[:, k].max() > 0.004)
            shown = [self.body.labels[n] for n in np.unique(one.sheet.paint)]
            if None in shown:
                present |= {"cut"}
            if any(label and label.kind == "glass" for label in shown):
                present |= {"glass"}
            if one.sheet.paint.size == 1:
                material = self._plain(int(one.sheet.paint[0, 0]), one.sheet.part, present, known)
            else:
                material = self._painted(one, present)
            materials[material.name] = material
            groups.setdefault((one.sheet.part, material.name), []).append((one, sign))
        for (part, name), members in groups.items():
            self._parts.append((part, self._mesh(f"{part} {name}", members, materials[name])))

    def extent(self) -> tuple[Floats, Floats]:
        """The corners of the box round the vehicle, mm."""
        return (
            np.min([one.places.min(0) for one in self.sheets], axis=0),
            np.max([one.places.max(0) for one in self.sheets], axis=0),
        )

    def hide(self, parts: Sequence[str] = ()) -> None:
        """Take off the parts whose names begin so, as a hood or a lid that is open; all others are put on again."""
        for part, thing in self._parts:
            thing.hide_render = part.startswith(tuple(parts))

    def _mesh(self, name: str, members: Sequence[tuple[Fine, Floats]], material: Any) -> Any:
        starts = np.cumsum([0] + [len(one.places) for one, _ in members])
        places = np.vstack([one.places for one, _ in members]) * FLIP
        quads = np.vstack([one.quads + at for (one, _), at in zip(members, starts, strict=False)])
        mesh = mesh_of(name, places, quads)
        where = np.vstack([np.column_stack([np.full(len(one.uv), one.number + 1.0), one.uv]) for one, _ in members])
        sign = np.vstack([s for _, s in members])
        _carry(mesh, "where", where)
        for title, names in SIGN_SETS:
            _carry(mesh, title, sign[:, [SIGNS.index(n) for n in names]])
        if len(members) == 1:
            sheet = members[0][0].sheet
            high, wide = sheet.paint.shape
            uv = ((members[0][0].uv - np.asarray(sheet.origin)) * sheet.per_mm + 0.5) / (wide, high)
            layer = mesh.uv_layers.new(name="tex")
            layer.data.foreach_set("uv", uv[quads.ravel()].astype(np.float32).ravel())
        mesh.materials.append(material)
        mesh.shade_smooth()
        mesh.set_sharp_from_angle(angle=math.radians(38))
        return bpy.data.objects[mesh.name]

    def show(self, look: str) -> None:
        """Which picture is given: beauty, or where, in which all but the metal is black."""
        if look == self._shown:
            return
        self._shown = look
        for material in bpy.data.materials:
            out = material.node_tree.nodes.get("Material Output")
            if out is not None and material.name not in self._of_metal:
                kept = material.node_tree.nodes.get("black") or _black(material.node_tree, out)
                source = kept.outputs[0] if look == "where" else material.node_tree.nodes[kept["instead"]].outputs[0]
                material.node_tree.links.new(source, out.inputs["Surface"])
        for material, sockets in self._looks:
            material.node_tree.links.new(sockets[look], sockets["out"].inputs["Surface"])

    # -- the surroundings ------------------------------------------------------------------------
    def ground(self, kind: str = "gravel", wall: str = "", wall_at: float = 4200.0, wall_side: float = -1.0) -> None:
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
            grey = picture(tree, load(self.textures / f"{file}.jpg"), p.scaled(0.9, 0.9, 0.9), boxed=True)[0].parts()[1]
            share = (grey.power(0.7) * 0.75 + (fine_ - 0.5) * 0.5 + (broad - 0.4) * 0.5).least(1).most(0)
        colour = mix(tree, share.rise(0.25, 0.75), tone[0], tone[1])
        plug(tree, mix(tree, (broad - 0.52).most(0) * 3, colour, tone[0]), skin.inputs["Base Color"])
        bump = tree.nodes.new("ShaderNodeBump")
        bump.inputs["Distance"].default_value = 0.004 if kind == "concrete" else 0.02
        plug(tree, share, bump.inputs["Height"])
        tree.links.new(bump.outputs[0], skin.inputs["Normal"])
        skin.inputs["Roughness"].default_value = 0.9
        _plane((0, 0, 0), (60, 0, 0), (0, 60, 0), out)
        _hills()
        if wall:
            self._wall(wall, wall_at, wall_side)

    def _wall(self, kind: str, at: float, side: float) -> None:
        tree, skin, out = new_material("wall")
        p = place(tree)
        file, size, tone = {
            "brick": ("negative_brick", 0.8, ((0.10, 0.045, 0.03), (0.36, 0.22, 0.16))),
            "boards": ("negative_wood", 0.9, ((0.10, 0.06, 0.035), (0.33, 0.23, 0.14))),
            "sheet": ("negative_factory_wall", 0.5, None),
        }[kind]
        colour, _ = picture(tree, load(self.textures / f"{file}.jpg"), p.scaled(size, size, size), boxed=True)
        if tone:
            colour = mix(tree, colour.parts()[0].rise(0.1, 0.75), *tone)
        plug(tree, mix(tree, noise(tree, p, 1.3) * 0.5, colour, (0.09, 0.08, 0.07)), skin.inputs["Base Color"])
        skin.inputs["Roughness"].default_value = 0.85
        _plane((1.5, -side * at / 1000, 1.6), (14, 0, 0), (0, 0, 1.8), out)

    def room(self) -> None:
        """Walls and a roof round the vehicle, a doorway of light behind the camera's usual side: a shed."""
        tree, skin, out = new_material("room")
        p = place(tree)
        wood = picture(tree, load(self.textures / "negative_wood.jpg"), p.scaled(0.7, 0.7, 0.7), boxed=True)[0]
        plug(tree, mix(tree, wood.parts()[0], (0.05, 0.035, 0.025), (0.24, 0.17, 0.11)), skin.inputs["Base Color"])
        for middle, a, b in (
            ((1.5, -3.2, 1.6), (6, 0, 0), (0, 0, 1.7)),
            ((1.5, 3.4, 1.6), (6, 0, 0), (0, 0, 1.7)),
            ((6.8, 0, 1.6), (0, 5, 0), (0, 0, 1.7)),
            ((1.5, 0, 3.2), (6, 0, 0), (0, 5, 0)),
        ):
            _plane(middle, a, b, out)

    def light(self, light: Light, camera: Camera) -> None:
        """Sky, sun and lamps. Lamps of an earlier call go."""
        for old in [o for o in self.scene.objects if o.type == "LIGHT"]:
            bpy.data.objects.remove(old)
        world = bpy.data.worlds.get("sky") or bpy.data.worlds.new("sky")
        self.scene.world = world
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
            sun = self._lamp("SUN", light.sun, (0, 0, 5), turn)
            sun.angle, sun.color = math.radians(0.7), (1.0, 0.93, 0.82)
        right, down, forward = camera.axes()
        eye = np.asarray(camera.at)
        for watts, shift, wide in ((light.torch, light.torch_at, 1.1), (light.flash, (12.0, -8.0, -4.0), 1.5)):
            if watts:
                at = eye + right * shift[0] + down * shift[1] + forward * shift[2]
                way_to = np.asarray(camera.aim, float) - at
                spot = self._lamp("SPOT", watts, tuple(at * FLIP), _facing(way_to * FLIP))
                spot.spot_size, spot.spot_blend, spot.shadow_soft_size = wide, 0.7, 0.008
                spot.color = (1.0, 0.96, 0.90)

    def _lamp(self, kind: str, strength: float, at: tuple[float, ...], turn: tuple[float, ...]) -> Any:
        lamp = bpy.data.lights.new(kind.lower(), kind)
        lamp.energy = strength
        placed = bpy.data.objects.new(kind.lower(), lamp)
        placed.location, placed.rotation_euler = at, turn
        self.scene.collection.objects.link(placed)
        return lamp


def _facing(way: Floats) -> tuple[float, float, float]:
    """Euler angles of a lamp (which looks along -z) towards `way`."""
    x, y, z = way / np.linalg.norm(way)
    return (math.acos(max(-1.0, min(1.0, -z))), 0.0, math.atan2(y, x) - math.pi / 2)


def mesh_of(name: str, places: Floats, faces: NDArray[np.int64]) -> Any:
    """A mesh in the scene from places in metres and faces of four corners."""
    mesh = bpy.data.meshes.new(name)
    mesh.vertices.add(len(places))
    mesh.vertices.foreach_set("co", places.astype(np.float32).ravel())
    mesh.loops.add(faces.size)
    mesh.loops.foreach_set("vertex_index", faces.ravel().astype(np.int32))
    mesh.polygons.add(len(faces))
    mesh.polygons.foreach_set("loop_start", np.arange(0, faces.size, 4, dtype=np.int32))
    mesh.update(calc_edges=True)
    bpy.context.scene.collection.objects.link(bpy.data.objects.new(name, mesh))
    return mesh


def _black(tree: Any, out: Any) -> Any:
    """A node that gives nothing, remembering which one it stands in for."""
    node = tree.nodes.new("ShaderNodeEmission")
    node.name, node.inputs["Strength"].default_value = "black", 0.0
    node["instead"] = out.inputs["Surface"].links[0].from_node.name
    return node


def _carry(mesh: Any, name: str, values: Floats) -> None:
    mesh.attributes.new(name, "FLOAT_VECTOR", "POINT").data.foreach_set("vector", values.astype(np.float32).ravel())


def new_material(name: str) -> tuple[Any, Any, Any]:
    """A tree with one principled shader: tree, shader, material."""
    material = bpy.data.materials.new(name)
    material.use_nodes = True
    tree = material.node_tree
    skin = next(n for n in tree.nodes if n.type == "BSDF_PRINCIPLED")
    return tree, skin, material


def _plane(middle: tuple[float, ...], a: tuple[float, ...], b: tuple[float, ...], material: Any) -> Any:
    """A rectangle of half sides a and b, metres."""
    m, a_, b_ = (np.asarray(q, float) for q in (middle, a, b))
    mesh = mesh_of("plane", np.stack([m - a_ - b_, m + a_ - b_, m + a_ + b_, m - a_ + b_]), np.array([[0, 1, 2, 3]]))
    mesh.materials.append(material)
    return mesh


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
