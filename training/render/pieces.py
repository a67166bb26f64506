"""Pieces that every picture is put together from: an empty scene, images, materials, meshes.

Blender's axes are metres, right-handed: x rearwards, y to the vehicle's right, z up; the solid models have y to the left.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bpy
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
FLIP = np.array([0.001, -0.001, 0.001])


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


def new_material(name: str) -> tuple[Any, Any, Any]:
    """A tree with one principled shader: tree, shader, material."""
    material = bpy.data.materials.new(name)
    material.use_nodes = True
    tree = material.node_tree
    skin = next(n for n in tree.nodes if n.type == "BSDF_PRINCIPLED")
    return tree, skin, material


def plane(middle: tuple[float, ...], a: tuple[float, ...], b: tuple[float, ...], material: Any) -> Any:
    """A rectangle of half sides a and b, metres."""
    m, a_, b_ = (np.asarray(q, float) for q in (middle, a, b))
    mesh = mesh_of("plane", np.stack([m - a_ - b_, m + a_ - b_, m + a_ + b_, m - a_ + b_]), np.array([[0, 1, 2, 3]]))
    mesh.materials.append(material)
    return mesh
