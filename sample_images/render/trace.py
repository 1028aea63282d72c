"""The one module that touches Blender: a scene and a camera go in, a linear picture comes out."""

from __future__ import annotations

import tempfile
from pathlib import Path

import bpy
import cv2
import numpy as np

from .camera import Camera
from .params import Light
from .scene import Part, Scene
from .solid import Array
from .wood import Image

COARSE = 3
"""The surroundings are traced at a third of the resolution: they lie out of focus anyway."""
MARGIN_PX = 60
CARD_SHARE = 0.45
"""Share of the paths per pixel that the card gets; the end, where the walls are, gets them all."""
Window = tuple[int, int, int, int]
"""x0, y0, x1, y1, px."""
SENSOR_MM = 36.0
PANEL_MM = 160.0


def overscan(camera: Camera) -> tuple[int, int]:
    """Pixels traced beyond each side of the photo (x, y), so that the lens finds light there, in whole COARSE px."""
    first, second = [next(m for m in range(12, 12 + COARSE) if (n + 2 * m) % COARSE == 0) for n in camera.px]
    return first, second


def trace(scene: Scene, camera: Camera, samples: int, threads: int = 1) -> Image:
    """The pinhole picture (rows, cols, 3), linear, wider than the photo by `overscan` on each side."""
    bpy.ops.wm.read_factory_settings(use_empty=True)
    for part in scene.parts:
        _add_part(part)
    _add_light(scene.params.light, scene.params.board.width)
    _add_camera(camera)
    _set_engine(threads, scene.params.seed)
    size = tuple(n + 2 * m for n, m in zip(camera.px, overscan(camera), strict=True))
    rough = _render((size[0] // COARSE, size[1] // COARSE), samples // 4, None)
    picture = cv2.resize(rough, size, interpolation=cv2.INTER_CUBIC)
    for subject, share in ((scene.sheet, CARD_SHARE), (scene.end, 1.0)):
        window = _window(subject, camera, size)
        picture = _composed(_render(size, round(samples * share), window), picture, window)
    return picture


def _window(subject: Array, camera: Camera, size: tuple[int, ...]) -> Window:
    """The rectangle of the wide picture that holds `subject` (n, 3; end frame) and a margin."""
    seen = camera.project_pinhole(subject) + overscan(camera)
    low = np.clip(np.floor(seen.min(0)) - MARGIN_PX, 0, size).astype(int)
    high = np.clip(np.ceil(seen.max(0)) + MARGIN_PX, 0, size).astype(int)
    return int(low[0]), int(low[1]), int(high[0]), int(high[1])


def _composed(sharp: Image, picture: Image, window: Window) -> Image:
    """The sharp window let into the picture with a soft seam."""
    x0, y0, x1, y1 = window
    weight: Image = np.zeros(sharp.shape[:2], np.float32)
    weight[y0 + 20 : y1 - 20, x0 + 20 : x1 - 20] = 1
    weight = cv2.blur(weight, (31, 31))[..., None]
    return np.maximum(picture * (1 - weight) + sharp * weight, 0)


def _add_part(part: Part) -> None:
    mesh = bpy.data.meshes.new(part.name)
    mesh.from_pydata((part.mesh.points * (1, -1, 1)).tolist(), [], part.mesh.quads.tolist())
    layer = mesh.uv_layers.new(name="UVMap")
    layer.data.foreach_set("uv", part.mesh.uv[part.mesh.quads].astype(np.float32).ravel())
    mesh.materials.append(_material(part))
    bpy.context.scene.collection.objects.link(bpy.data.objects.new(part.name, mesh))


def _material(part: Part) -> bpy.types.Material:
    material = bpy.data.materials.new(part.name)
    material.use_nodes = True
    nodes, links = material.node_tree.nodes, material.node_tree.links
    shader = nodes["Principled BSDF"] if part.gloss else _matt(nodes, links)
    colour = shader.inputs["Base Color" if part.gloss else "Color"]
    colour.default_value = (*part.rgb, 1)
    if part.gloss:
        shader.inputs["Roughness"].default_value = 0.85 - 0.55 * part.gloss
        shader.inputs["Specular IOR Level"].default_value = part.gloss
    if part.shine is not None:
        _shine(part, shader, nodes, links)
    if part.picture is not None:
        texture = nodes.new("ShaderNodeTexImage")
        texture.image, texture.extension = _image(part.name, part.picture), "MIRROR"
        links.new(texture.outputs["Color"], colour)
    return material


def _shine(part: Part, shader: bpy.types.Node, nodes: bpy.types.Nodes, links: bpy.types.NodeLinks) -> None:
    """Gloss from a picture (0 matt .. 1), in place of the part's own."""
    texture = nodes.new("ShaderNodeTexImage")
    texture.image = _image(f"{part.name} shine", np.repeat(part.shine[..., None], 3, 2))
    rough = nodes.new("ShaderNodeMath")
    rough.operation, rough.inputs[1].default_value, rough.inputs[2].default_value = "MULTIPLY_ADD", -0.65, 0.85
    links.new(texture.outputs["Color"], rough.inputs[0])
    links.new(rough.outputs["Value"], shader.inputs["Roughness"])
    links.new(texture.outputs["Color"], shader.inputs["Specular IOR Level"])


def _matt(nodes: bpy.types.Nodes, links: bpy.types.NodeLinks) -> bpy.types.ShaderNode:
    """A plain diffuse shader, several times quicker than the principled one."""
    shader = nodes.new("ShaderNodeBsdfDiffuse")
    links.new(shader.outputs["BSDF"], nodes["Material Output"].inputs["Surface"])
    return shader


def _image(name: str, picture: Image) -> bpy.types.Image:
    rows, cols = picture.shape[:2]
    image = bpy.data.images.new(name, cols, rows, alpha=False, float_buffer=True)
    image.colorspace_settings.name = "Non-Color"
    rgba = np.ones((rows, cols, 4), np.float32)
    rgba[..., :3] = picture[::-1]
    image.pixels.foreach_set(rgba.ravel())
    image.update()
    return image


def _add_light(light: Light, width: float) -> None:
    world = bpy.data.worlds.new("sky")
    bpy.context.scene.world = world
    world.use_nodes = True
    sky = world.node_tree.nodes["Background"]
    sky.inputs["Color"].default_value = (*light.ambient_rgb, 1)
    sky.inputs["Strength"].default_value = light.ambient
    sun = bpy.data.lights.new("sun", "SUN")
    sun.energy, sun.color, sun.angle = light.sun * np.pi, light.sun_rgb, np.radians(light.sun_size)
    _hang(sun, light.sun_az, light.sun_el, np.array([width / 2, 0, 0]))
    panel = bpy.data.lights.new("panel", "AREA")
    panel.size, panel.color = 2 * PANEL_MM, light.panel_rgb
    panel.energy = light.panel * 4 * np.pi * (5 * PANEL_MM) ** 2
    _hang(panel, light.panel_az, light.panel_el, np.array([width / 2, 0, 0]))


def _hang(lamp: bpy.types.Light, azimuth: float, elevation: float, target: Array) -> None:
    """A lamp 5 panel lengths away that shines on `target` (end frame)."""
    az, el = np.radians([azimuth, elevation])
    toward = np.array([np.cos(el) * np.cos(az), -np.cos(el) * np.sin(az), np.sin(el)])
    holder = bpy.data.objects.new(lamp.name, lamp)
    holder.matrix_world = _matrix(_facing(toward), target * (1, -1, 1) + 5 * PANEL_MM * toward)
    bpy.context.scene.collection.objects.link(holder)


def _facing(back: Array) -> Array:
    """Columns right, up, back of something that looks along -`back`."""
    right = np.cross([0.3, 1.0, 0.1], back)
    right /= np.linalg.norm(right)
    return np.column_stack([right, np.cross(back, right), back])


def _matrix(columns: Array, place: Array) -> list[list[float]]:
    """Blender's 4 x 4, given column by column as `matrix_world` wants it from a sequence."""
    whole = np.eye(4)
    whole[:3, :3], whole[:3, 3] = columns, place
    return whole.T.tolist()


def _add_camera(camera: Camera) -> None:
    lens = bpy.data.cameras.new("phone")
    lens.sensor_fit, lens.sensor_width = "HORIZONTAL", SENSOR_MM
    lens.lens = camera.f_px * SENSOR_MM / (camera.px[0] + 2 * overscan(camera)[0])
    lens.clip_start, lens.clip_end = 1.0, 5000.0
    holder = bpy.data.objects.new("phone", lens)
    right, down, forward = camera.axes
    holder.matrix_world = _matrix(np.column_stack([right, -down, -forward]), camera.eye)
    bpy.context.scene.collection.objects.link(holder)
    bpy.context.scene.camera = holder


def _set_engine(threads: int, seed: int) -> None:
    scene = bpy.context.scene
    scene.render.engine = "CYCLES"
    scene.render.use_persistent_data = True
    scene.render.threads_mode, scene.render.threads = "FIXED", threads
    cycles = scene.cycles
    cycles.device, cycles.use_denoising, cycles.seed = "CPU", False, seed
    cycles.use_adaptive_sampling, cycles.adaptive_threshold, cycles.adaptive_min_samples = True, 0.03, 10
    cycles.use_light_tree = False
    cycles.max_bounces = cycles.diffuse_bounces = 2
    cycles.glossy_bounces, cycles.transmission_bounces = 1, 0
    cycles.caustics_reflective = cycles.caustics_refractive = False
    cycles.pixel_filter_type, cycles.filter_width = "BLACKMAN_HARRIS", 1.5
    scene.render.image_settings.file_format = "OPEN_EXR"
    scene.render.image_settings.color_depth = "32"


def _render(size: tuple[int, ...], samples: int, window: Window | None) -> Image:
    """One render of the scene as it stands; outside `window` the picture is black."""
    render = bpy.context.scene.render
    render.resolution_x, render.resolution_y, render.resolution_percentage = size[0], size[1], 100
    bpy.context.scene.cycles.samples = samples
    render.use_border, render.use_crop_to_border = window is not None, False
    if window is not None:
        x0, y0, x1, y1 = window
        render.border_min_x, render.border_max_x = x0 / size[0], x1 / size[0]
        render.border_min_y, render.border_max_y = 1 - y1 / size[1], 1 - y0 / size[1]
    with tempfile.TemporaryDirectory() as folder:
        render.filepath = str(Path(folder) / "picture.exr")
        bpy.ops.render.render(write_still=True)
        return _read(render.filepath)


def _read(path: str) -> Image:
    image = bpy.data.images.load(path)
    cols, rows = image.size
    pixels = np.empty((rows, cols, 4), np.float32)
    image.pixels.foreach_get(pixels.ravel())
    bpy.data.images.remove(image)
    return pixels[::-1, :, :3].copy()
