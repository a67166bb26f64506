"""Takes a picture, and its exact masks: what label, and so what zone, each pixel shows, and which signs."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

import bpy
import numpy as np
from camera import DIAGONAL_35, Camera
from cast import label_at
from mathutils import Matrix
from metal import SEEN
from numpy.typing import NDArray
from pieces import FLIP
from scene import Stage


def aim(stage: Stage, camera: Camera) -> None:
    """Put Blender's camera where ours is."""
    data = bpy.data.cameras.get("eye") or bpy.data.cameras.new("eye")
    eye = bpy.data.objects.get("eye") or bpy.data.objects.new("eye", data)
    if eye.name not in stage.scene.collection.objects:
        stage.scene.collection.objects.link(eye)
    right, down, forward = camera.axes() * np.sign(FLIP)
    rows = np.eye(4)
    rows[:3, :3] = np.stack([right, -down, -forward], 1)
    rows[:3, 3] = np.asarray(camera.at) * FLIP
    eye.matrix_world = Matrix([list(map(float, row)) for row in rows])
    wide, high = camera.size
    data.sensor_fit, data.sensor_width = "HORIZONTAL", 36.0
    data.clip_start, data.clip_end = 0.01, 200
    if camera.square:
        data.type, data.ortho_scale = "ORTHO", camera.square / 1000
    else:
        data.type, data.lens = "PERSP", camera.lens / DIAGONAL_35 * float(np.hypot(wide, high)) / wide * 36.0
    stage.scene.camera = eye
    stage.scene.render.resolution_x, stage.scene.render.resolution_y = wide, high
    stage.scene.render.resolution_percentage = 100


def _rendered(stage: Stage, samples: int, *, exact: bool) -> NDArray[np.float32]:
    """One picture (h, w, 3) in linear light; exact: one ray through the middle of each pixel."""
    scene: Any = stage.scene
    scene.cycles.samples = 1 if exact else samples
    scene.cycles.max_bounces = 0 if exact else 4
    scene.cycles.use_adaptive_sampling = not exact
    scene.cycles.use_denoising = not exact
    scene.cycles.filter_width = 0.01 if exact else 1.3
    scene.cycles.pixel_filter_type = "GAUSSIAN" if exact else "BLACKMAN_HARRIS"
    scene.view_settings.view_transform = "Raw"
    scene.render.image_settings.file_format = "OPEN_EXR"
    scene.render.image_settings.color_depth = "32"
    with tempfile.TemporaryDirectory() as folder:
        scene.render.filepath = str(Path(folder) / "picture")
        bpy.ops.render.render(write_still=True)
        image = bpy.data.images.load(str(next(Path(folder).iterdir())))
        wide, high = image.size
        pixels = np.zeros(wide * high * image.channels, np.float32)
        image.pixels.foreach_get(pixels)
        found = pixels.reshape(high, wide, image.channels)[::-1, :, :3].copy()
        bpy.data.images.remove(image)
    return found


def shoot(stage: Stage, camera: Camera, *, samples: int = 16) -> NDArray[np.float32]:
    """The light that the camera gets (h, w, 3), linear, with the lamps as they are set; phone.py makes a picture of it."""
    aim(stage, camera)
    stage.show("beauty")
    return _rendered(stage, samples, exact=False)


def marks(stage: Stage, camera: Camera) -> tuple[NDArray[np.int64], dict[str, NDArray[np.bool_]]]:
    """Of every pixel: the number of the body's label (h, w), 0 where the vehicle is not; and by sign whether it is there."""
    aim(stage, camera)
    world, others = stage.scene.world, [o for o in stage.scene.objects if o.type == "LIGHT"]
    if world is not None:
        strength = world.node_tree.nodes["Background"].inputs["Strength"]
        kept, strength.default_value = strength.default_value, 0.0
    for lamp in others:
        lamp.hide_render = True
    stage.show("where")
    where = _rendered(stage, 1, exact=True)
    for lamp in others:
        lamp.hide_render = False
    if world is not None:
        strength.default_value = kept
    code = np.round(where[..., 0]).astype(int)
    number = code // 64 - 1
    signs = {name: (code >> k & 1).astype(bool) for k, name in enumerate(SEEN)}
    label = np.zeros(number.shape, np.int64)
    for n in np.unique(number[number >= 0]):
        at = number == n
        label[at] = label_at(stage.body.sheets[n], where[at][:, 1:3].astype(float))
    return label, signs
