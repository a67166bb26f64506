"""Turns trained weights into the one ONNX file of the package: probabilities out, weights stored as 16-bit floats.

python export.py FOLD.pt rust.onnx --scale A --shift B: the rust logit x leaves as sigmoid(A x + B), the calibration that
evaluate.py fits on held-out pictures.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import TensorProto, helper, numpy_helper
from torch import Tensor, nn

from net import RustNet, pretrained


class Calibrated(nn.Module):
    """(1, 3, M, N) in 0..255 -> (1, 7, M/4, N/4) in 0..1."""

    def __init__(self, net: RustNet, scale: float, shift: float) -> None:
        super().__init__()
        self.net = net
        self.register_buffer("scale", torch.tensor([scale] + [1.0] * 6).view(1, 7, 1, 1))
        self.register_buffer("shift", torch.tensor([shift] + [0.0] * 6).view(1, 7, 1, 1))

    def forward(self, image: Tensor) -> Tensor:
        return torch.sigmoid(self.net(image) * self.scale + self.shift)


def halve(model: onnx.ModelProto) -> onnx.ModelProto:
    """Store every large weight as 16-bit floats, widened again when the model is loaded."""
    kept, casts = [], []
    for weight in model.graph.initializer:
        values = numpy_helper.to_array(weight)
        if values.dtype != np.float32 or values.size < 256:
            kept.append(weight)
            continue
        small = numpy_helper.from_array(values.astype(np.float16), f"{weight.name}.half")
        kept.append(small)
        casts.append(helper.make_node("Cast", [small.name], [weight.name], to=TensorProto.FLOAT))
    nodes = casts + list(model.graph.node)
    del model.graph.initializer[:], model.graph.node[:]
    model.graph.initializer.extend(kept)
    model.graph.node.extend(nodes)
    onnx.checker.check_model(model)
    return model


def export(weights: Path, out: Path, scale: float, shift: float) -> None:
    """Write the ONNX file."""
    net = pretrained("lite2", None)
    net.load_state_dict(torch.load(weights, map_location="cpu", weights_only=True))
    sides = {"image": {2: "high", 3: "wide"}, "probability": {2: "quarter_high", 3: "quarter_wide"}}
    torch.onnx.export(
        Calibrated(net.eval(), scale, shift),
        (torch.zeros(1, 3, 480, 640),),
        str(out),
        dynamo=False,
        opset_version=17,
        input_names=["image"],
        output_names=["probability"],
        dynamic_axes=sides,
    )
    onnx.save(halve(onnx.load(str(out))), str(out))


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("weights", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--scale", type=float, default=1.0)
    parser.add_argument("--shift", type=float, default=0.0)
    given = parser.parse_args()
    export(given.weights, given.out, given.scale, given.shift)
