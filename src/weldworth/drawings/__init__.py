"""Line drawings of the bodies: plain, or toned by what is believed of each zone."""

from __future__ import annotations

from weldworth.drawings.shelf import View, ask, bodies, svg, tinted, views

__all__ = ["View", "ask", "bodies", "svg", "tinted", "views"]
