"""The vehicle in Blender: meshes with what lies on them. What is round it stands in yard.py."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import bpy
import numpy as np
from cast import Fine, fine
from engine.solid import Body
from finish import Paint, finish, linear, texture
from ills import SIGNS, Ill, weights
from metal import SIGN_SETS, Base, Wear, metal
from nodes import Val, picture, plug
from numpy.typing import NDArray
from pieces import FLIP, Floats, empty, load, mesh_of


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


def _black(tree: Any, out: Any) -> Any:
    """A node that gives nothing, remembering which one it stands in for."""
    node = tree.nodes.new("ShaderNodeEmission")
    node.name, node.inputs["Strength"].default_value = "black", 0.0
    node["instead"] = out.inputs["Surface"].links[0].from_node.name
    return node


def _carry(mesh: Any, name: str, values: Floats) -> None:
    mesh.attributes.new(name, "FLOAT_VECTOR", "POINT").data.foreach_set("vector", values.astype(np.float32).ravel())
