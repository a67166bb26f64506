"""Shader nodes as arithmetic: `a * b + 0.5` builds the nodes that do so."""

from __future__ import annotations

from typing import Any


class Val:
    """A socket of a node tree that answers to arithmetic; numbers are taken as constants."""

    def __init__(self, tree: Any, socket: Any) -> None:
        self.tree, self.socket = tree, socket

    def _math(self, kind: str, *others: Any) -> Val:
        node = self.tree.nodes.new("ShaderNodeMath")
        node.operation = kind
        for at, one in enumerate((self, *others)):
            plug(self.tree, one, node.inputs[at])
        return Val(self.tree, node.outputs[0])

    def __add__(self, other: Any) -> Val:
        return self._math("ADD", other)

    def __sub__(self, other: Any) -> Val:
        return self._math("SUBTRACT", other)

    def __rsub__(self, other: Any) -> Val:
        return self._math("MULTIPLY", -1.0) + other

    def __mul__(self, other: Any) -> Val:
        return self._math("MULTIPLY", other)

    def __truediv__(self, other: Any) -> Val:
        return self._math("DIVIDE", other)

    __radd__, __rmul__ = __add__, __mul__

    def most(self, other: Any) -> Val:
        return self._math("MAXIMUM", other)

    def least(self, other: Any) -> Val:
        return self._math("MINIMUM", other)

    def power(self, other: Any) -> Val:
        return self._math("POWER", other)

    def over(self, other: Any) -> Val:
        """1 where this is greater, else 0."""
        return self._math("GREATER_THAN", other)

    def rise(self, low: Any, high: Any) -> Val:
        """0 at low, 1 at high, smooth in between."""
        node = self.tree.nodes.new("ShaderNodeMapRange")
        node.interpolation_type = "SMOOTHSTEP"
        plug(self.tree, self, node.inputs["Value"])
        plug(self.tree, low, node.inputs["From Min"])
        plug(self.tree, high, node.inputs["From Max"])
        return Val(self.tree, node.outputs["Result"])

    def parts(self) -> tuple[Val, Val, Val]:
        """x, y, z of a vector or colour."""
        node = self.tree.nodes.new("ShaderNodeSeparateXYZ")
        plug(self.tree, self, node.inputs[0])
        return tuple(Val(self.tree, out) for out in node.outputs)  # type: ignore[return-value]

    def scaled(self, x: float, y: float, z: float) -> Val:
        """A vector with each part multiplied."""
        node = self.tree.nodes.new("ShaderNodeVectorMath")
        node.operation = "MULTIPLY"
        plug(self.tree, self, node.inputs[0])
        node.inputs[1].default_value = (x, y, z)
        return Val(self.tree, node.outputs[0])

    def moved(self, x: float, y: float, z: float) -> Val:
        """A vector with something added to each part."""
        node = self.tree.nodes.new("ShaderNodeVectorMath")
        node.operation = "ADD"
        plug(self.tree, self, node.inputs[0])
        node.inputs[1].default_value = (x, y, z)
        return Val(self.tree, node.outputs[0])


def plug(tree: Any, value: Any, socket: Any) -> None:
    """A value or a number into a socket."""
    if isinstance(value, Val):
        tree.links.new(value.socket, socket)
    elif isinstance(value, tuple):
        socket.default_value = (*value, 1.0) if len(value) == 3 and len(socket.default_value) == 4 else value
    else:
        socket.default_value = value


def number(tree: Any, value: float) -> Val:
    node = tree.nodes.new("ShaderNodeValue")
    node.outputs[0].default_value = value
    return Val(tree, node.outputs[0])


def vector(tree: Any, x: Any, y: Any, z: Any) -> Val:
    node = tree.nodes.new("ShaderNodeCombineXYZ")
    for socket, value in zip(node.inputs, (x, y, z), strict=True):
        plug(tree, value, socket)
    return Val(tree, node.outputs[0])


def place(tree: Any) -> Val:
    """Where the surface is, metres."""
    return Val(tree, tree.nodes.new("ShaderNodeNewGeometry").outputs["Position"])


def upward(tree: Any) -> Val:
    """How far the surface looks up: 1 flat on top, -1 from below."""
    return Val(tree, tree.nodes.new("ShaderNodeNewGeometry").outputs["Normal"]).parts()[2]


def attribute(tree: Any, name: str) -> Val:
    node = tree.nodes.new("ShaderNodeAttribute")
    node.attribute_name = name
    return Val(tree, node.outputs["Vector"])


def noise(tree: Any, at: Val, scale: float, detail: float = 6, rough: float = 0.6) -> Val:
    """Cloudy noise about 0.5, most of it between 0.3 and 0.7; scale: cells a metre."""
    node = tree.nodes.new("ShaderNodeTexNoise")
    plug(tree, at, node.inputs["Vector"])
    node.inputs["Scale"].default_value, node.inputs["Detail"].default_value = scale, detail
    node.inputs["Roughness"].default_value = rough
    return Val(tree, node.outputs[0])


def cells(tree: Any, at: Val, scale: float, feature: str = "F1") -> tuple[Val, Val]:
    """Distance to the nearest scattered point, in cells, and a chance number 0..1 of that point's own."""
    node = tree.nodes.new("ShaderNodeTexVoronoi")
    node.feature = feature
    plug(tree, at, node.inputs["Vector"])
    node.inputs["Scale"].default_value = scale
    own = Val(tree, node.outputs["Color"]).parts()[0] if feature == "F1" else number(tree, 0)
    return Val(tree, node.outputs["Distance"]), own


def picture(tree: Any, image: Any, at: Val | None = None, *, boxed: bool = False, uv: str = "") -> tuple[Val, Val]:
    """Colour and alpha of an image: over a UV map, or boxed over places."""
    node = tree.nodes.new("ShaderNodeTexImage")
    node.image = image
    if boxed:
        node.projection, node.projection_blend = "BOX", 0.3
    if uv:
        coords = tree.nodes.new("ShaderNodeUVMap")
        coords.uv_map = uv
        at = Val(tree, coords.outputs[0])
        node.extension = "EXTEND"
    if at is not None:
        plug(tree, at, node.inputs["Vector"])
    return Val(tree, node.outputs["Color"]), Val(tree, node.outputs["Alpha"])


def mix(tree: Any, share: Any, low: Any, high: Any) -> Val:
    """Colours mixed: low at share 0, high at 1."""
    node = tree.nodes.new("ShaderNodeMix")
    node.data_type = "RGBA"
    plug(tree, share, node.inputs[0])
    plug(tree, low, node.inputs[6])
    plug(tree, high, node.inputs[7])
    return Val(tree, node.outputs[2])


def emission(tree: Any, colour: Val) -> Any:
    node = tree.nodes.new("ShaderNodeEmission")
    plug(tree, colour, node.inputs["Color"])
    return node.outputs[0]


def seen_through(tree: Any, there: Any, shader: Any) -> Any:
    """The shader where `there` is 1; nothing where it is 0."""
    clear, both = tree.nodes.new("ShaderNodeBsdfTransparent"), tree.nodes.new("ShaderNodeMixShader")
    plug(tree, there, both.inputs[0])
    tree.links.new(clear.outputs[0], both.inputs[1])
    tree.links.new(shader, both.inputs[2])
    return both.outputs[0]
