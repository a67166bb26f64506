"""The network: an EfficientNet-Lite encoder with ImageNet weights and a small decoder with seven outputs per pixel."""

from __future__ import annotations

from pathlib import Path

import torch
from torch import Tensor, nn
from torch.nn import functional as F

CHANNELS = ("rust", "scale", "bubbling", "hole", "fresh-coating", "staining", "patch")
# repeats, kernel, stride, expansion, output channels of each stage
LITE = {
    "lite0": [
        (1, 3, 1, 1, 16),
        (2, 3, 2, 6, 24),
        (2, 5, 2, 6, 40),
        (3, 3, 2, 6, 80),
        (3, 5, 1, 6, 112),
        (4, 5, 2, 6, 192),
        (1, 3, 1, 6, 320),
    ],
    "lite2": [
        (1, 3, 1, 1, 16),
        (3, 3, 2, 6, 24),
        (3, 5, 2, 6, 48),
        (4, 3, 2, 6, 88),
        (4, 5, 1, 6, 120),
        (5, 5, 2, 6, 208),
        (1, 3, 1, 6, 352),
    ],
}


class SameConv(nn.Conv2d):
    """A convolution padded as the encoder's weights expect: more at the right and bottom where the stride is 2."""

    def forward(self, x: Tensor) -> Tensor:
        kernel = self.kernel_size[0]
        if self.stride[0] == 1:
            return F.conv2d(x, self.weight, self.bias, 1, kernel // 2, 1, self.groups)
        spare = kernel - 2
        x = F.pad(x, (spare // 2, spare - spare // 2, spare // 2, spare - spare // 2))
        return F.conv2d(x, self.weight, self.bias, 2, 0, 1, self.groups)


class Block(nn.Module):
    """Inverted residual block; the names of its parts are those of the published weights."""

    def __init__(self, wide_in: int, wide_out: int, kernel: int, stride: int, expand: int) -> None:
        super().__init__()
        middle = wide_in * expand
        self.expands = expand != 1
        if self.expands:
            self._expand_conv = SameConv(wide_in, middle, 1, bias=False)
            self._bn0 = nn.BatchNorm2d(middle, eps=1e-3, momentum=0.01)
        self._depthwise_conv = SameConv(middle, middle, kernel, stride, groups=middle, bias=False)
        self._bn1 = nn.BatchNorm2d(middle, eps=1e-3, momentum=0.01)
        self._project_conv = SameConv(middle, wide_out, 1, bias=False)
        self._bn2 = nn.BatchNorm2d(wide_out, eps=1e-3, momentum=0.01)
        self.skips = stride == 1 and wide_in == wide_out

    def forward(self, x: Tensor, drop: float = 0.0) -> Tensor:
        y = F.relu6(self._bn0(self._expand_conv(x))) if self.expands else x
        y = F.relu6(self._bn1(self._depthwise_conv(y)))
        y = self._bn2(self._project_conv(y))
        if not self.skips:
            return y
        if self.training and drop > 0:
            keep = (torch.rand(len(y), 1, 1, 1, device=y.device) > drop).to(y.dtype) / (1 - drop)
            y = y * keep
        return x + y


class Encoder(nn.Module):
    """Features at strides 4, 8, 16 and 32."""

    def __init__(self, size: str) -> None:
        super().__init__()
        self._conv_stem = SameConv(3, 32, 3, 2, bias=False)
        self._bn0 = nn.BatchNorm2d(32, eps=1e-3, momentum=0.01)
        blocks: list[Block] = []
        self.taps: list[int] = []
        self.widths: list[int] = []
        wide = 32
        for stage, (repeats, kernel, stride, expand, out) in enumerate(LITE[size]):
            for i in range(repeats):
                blocks.append(Block(wide, out, kernel, stride if i == 0 else 1, expand))
                wide = out
            if stage in (1, 2, 4, 6):
                self.taps.append(len(blocks) - 1)
                self.widths.append(wide)
        self._blocks = nn.ModuleList(blocks)

    def forward(self, x: Tensor) -> list[Tensor]:
        x = F.relu6(self._bn0(self._conv_stem(x)))
        found = []
        for i, block in enumerate(self._blocks):
            x = block(x, 0.15 * i / len(self._blocks))
            if i in self.taps:
                found.append(x)
        return found


def _cell(wide_in: int, wide_out: int, kernel: int = 3) -> nn.Sequential:
    return nn.Sequential(
        nn.Conv2d(wide_in, wide_in, kernel, padding=kernel // 2, groups=wide_in, bias=False),
        nn.BatchNorm2d(wide_in),
        nn.Conv2d(wide_in, wide_out, 1, bias=False),
        nn.BatchNorm2d(wide_out),
        nn.ReLU6(inplace=True),
    )


class RustNet(nn.Module):
    """(B, 3, M, N) in 0..255 -> logits (B, 7, M/4, N/4); M and N multiples of 32."""

    def __init__(self, size: str = "lite0", wide: int = 96) -> None:
        super().__init__()
        self.encoder = Encoder(size)
        self.lateral = nn.ModuleList(nn.Conv2d(w, wide, 1) for w in self.encoder.widths)
        self.around = nn.Sequential(nn.Conv2d(self.encoder.widths[-1], wide, 1), nn.ReLU6(inplace=True))
        self.context = _cell(wide, wide, 5)
        self.merge = nn.ModuleList(_cell(wide, wide, k) for k in (3, 5, 5))
        self.out = nn.Conv2d(wide, len(CHANNELS), 1)
        nn.init.constant_(self.out.bias, -2.0)

    def forward(self, x: Tensor) -> Tensor:
        features = self.encoder((x - 127.0) / 128.0)
        deep = features[-1]
        y = self.lateral[3](deep) + self.around(deep.mean(dim=(2, 3), keepdim=True))
        y = self.context(y)
        for i in (2, 1, 0):
            y = F.interpolate(y, scale_factor=2.0, mode="bilinear", align_corners=False)
            y = self.merge[i](y + self.lateral[i](features[i]))
        return self.out(y)


def pretrained(size: str, weights: Path | None, wide: int = 96) -> RustNet:
    """A network whose encoder starts from the ImageNet weights in `weights`, or from chance where it is None."""
    net = RustNet(size, wide)
    if weights is not None:
        state = torch.load(weights, map_location="cpu", weights_only=True)
        kept = {k: v for k, v in state.items() if not k.startswith(("_conv_head", "_bn1", "_fc"))}
        net.encoder.load_state_dict(kept, strict=True)
    return net
