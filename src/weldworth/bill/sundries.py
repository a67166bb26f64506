"""What comes beside the jobs of a bill: joints, set-ups, paint, whole parts and what is used up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from weldworth.bill.asked import Asked, Draws, Flags, Left
from weldworth.bill.layout import PAINT_LINES, PAINT_SETUP, TEARDOWN, Layout
from weldworth.bill.spread import Z90, Chances, Floats

EDGE = "edge.join"
Number = TypeVar("Number", bound=np.generic)


@dataclass(frozen=True, slots=True)
class Beside:
    """What comes beside the jobs, (lines, draws) or (draws,)."""

    edge_hours: Floats
    edge_material: Floats
    setup_hours: Floats
    setup_material: Floats
    paint_hours: Floats
    paint_material: Floats
    part_hours: Floats
    part_material: Floats
    consumables: Floats


def drawn(values: NDArray[Number], draws: Draws | None) -> NDArray[Number]:
    """The columns of these draws; all of them as they stand, not to be written to, where `draws` is None."""
    return values if draws is None else values.take(draws, axis=-1)


class Sundries:
    """What comes beside the jobs of one vehicle, asked for by its metal as `asked` says. rate : labour, money per hour."""

    def __init__(self, layout: Layout, chances: Chances, rate: Floats, asked: Asked) -> None:
        self.layout, self.chances, self.rate, self.asked = layout, chances, rate, asked

    def of(self, chosen: Sequence[int], draws: Draws | None, left: Left, other: Flags, worked: Floats) -> Beside:
        """With the parts `chosen` replaced, in these draws or in all.

        left : what is still asked for. other : jobs whose alternative was chosen. worked : hours at the jobs.
        """
        edges = self._edges(left, other, draws)
        shares = self._shares(chosen, left)
        paint = self._paint(chosen, left, shares, draws)
        setup_hours, setup_material = np.zeros(shares.shape), np.zeros(shares.shape)
        for i, hours, material in self._setups(shares, draws):
            setup_hours[i], setup_material[i] = hours, material
        parts = self.parts(chosen, draws)
        return Beside(*edges, setup_hours, setup_material, *paint, *parts, self._consumables(worked + edges[0], draws))

    def sums(self, chosen: Sequence[int], draws: Draws | None, left: Left, other: Flags, worked: Floats) -> tuple[Floats, Floats]:
        """Hours and material of the same, all lines together; (draws,)."""
        edge_hours, material = self._edges(left, other, draws)
        shares, hours = self._shares(chosen, left), edge_hours.copy()
        paint = zip(*self._paint(chosen, left, shares, draws), strict=True)
        setups = ((setup_hours, setup_material) for _, setup_hours, setup_material in self._setups(shares, draws))
        for more_hours, more_material in (*paint, *setups, *(self._part(part, draws) for part in chosen)):
            hours += more_hours
            material += more_material
        material += self._consumables(worked + edge_hours, draws)
        return hours, material

    def _edges(self, left: Left, other: Flags, draws: Draws | None) -> tuple[Floats, Floats]:
        """Joints between two neighbouring cut-outs, both holed or masked, where no good metal is left to weld to."""
        cut = left.cut & (left.level > 0) & ~other
        count = np.zeros(cut.shape[1])
        for a, b in self.layout.edges:
            count += cut[a] & cut[b]
        hours, material = self._figures("edges", EDGE)
        return count * drawn(hours, draws), count * drawn(material, draws)

    def _figures(self, key: str, code: str) -> tuple[Floats, Floats]:
        """Hours and material of an operation or set-up in every draw, by the chances of `key`; found once."""
        if (key, code) not in self._found:
            book, z = self.layout.book, self.chances.z[self.layout.keys[key]]
            one = book.operations[code] if code in book.operations else book.setups[code]
            self._found[(key, code)] = (one.hours.at(z), one.material.at(z) * self.layout.terms.per_usd)
        return self._found[(key, code)]

    @cached_property
    def _found(self) -> dict[tuple[str, str], tuple[Floats, Floats]]:
        return {}

    def _shares(self, chosen: Sequence[int], left: Left) -> Floats:
        """The share of each set-up that is needed, 0 to 1: left and right share, one side alone takes less."""
        layout, shares = self.layout, np.zeros((len(self.layout.setups), left.share.shape[1]))
        sided: dict[int, list[Floats]] = {}
        for codes, (setup, side) in zip(left.share, self.asked.rows, strict=True):
            if not codes.any():
                continue
            values = self.asked.shares.take(codes)
            if side:
                sided.setdefault(setup, []).append(values)
            else:
                shares[setup] = values
        for setup, values in sided.items():
            one_side = layout.setups[setup].one_side
            more = (
                one_side * values[0]
                if len(values) == 1
                else one_side * np.maximum(*values) + (1 - one_side) * np.minimum(*values)
            )
            np.maximum(shares[setup], more, out=shares[setup])
        rows = {setup.code: i for i, setup in enumerate(layout.setups)}
        for larger in layout.setups:
            if larger.includes:
                included = shares[rows[larger.includes]]
                np.maximum(included - shares[rows[larger.code]], 0, out=included)
        for part in chosen:
            shares[[rows[code] for code in layout.book.replacements[part].setups]] = 0
            shares[rows[TEARDOWN]] = 1
        return shares

    def _setups(self, shares: Floats, draws: Draws | None) -> Iterator[tuple[int, Floats, Floats]]:
        """The set-ups that any draw needs: row, hours and material."""
        layout, luck = self.layout, drawn(self.chances.luck, draws)
        for i, setup in enumerate(layout.setups):
            if not shares[i].any():
                continue
            hours, material = (shares[i] * drawn(each, draws) for each in self._figures(setup.code, setup.code))
            if setup.mishap > 0:
                material += ((shares[i] > 0) & (luck < setup.mishap)) * (setup.mishap_cost * layout.terms.per_usd)
            yield i, hours, material

    def _paint(self, chosen: Sequence[int], left: Left, shares: Floats, draws: Draws | None) -> tuple[Floats, Floats]:
        """Panels and blends, or the whole respray where cheaper; sets the paint set-up's share. Rows as PAINT_LINES."""
        layout, rate = self.layout, drawn(self.rate, draws)
        session = shares[[setup.code for setup in layout.setups].index(PAINT_SETUP)]
        hours, material = np.zeros((3, rate.size)), np.zeros((3, rate.size))
        if layout.terms.paint == "none":
            session[:] = 0
            return hours, material
        painted = left.painted.copy()
        for part in chosen:
            for i, (_, panel) in enumerate(layout.panels):
                painted[i] |= panel.id in layout.book.replacements[part].panels
        blended = np.zeros_like(painted)
        for panel_row, neighbour in layout.blends:
            blended[neighbour] |= painted[panel_row]
        blended &= ~painted
        for share, panels in layout.panel_sessions:
            np.maximum(session, share * painted[panels].any(axis=0), out=session)
        (refinish, blend, whole), none = PAINT_LINES, np.zeros(rate.size)
        for row, (code, areas) in enumerate(((refinish, painted), (blend, blended))):
            amount = sum((size * areas[panels].sum(axis=0, dtype=np.float64) for size, panels in layout.panel_sizes), start=none)
            for out, figures in zip((hours, material), self._figures("paint", code), strict=True):
                np.multiply(amount, drawn(figures, draws), out=out[row])
        setup_hours, setup_material = (drawn(array, draws) for array in self._figures(PAINT_SETUP, PAINT_SETUP))
        by_panel = (hours.sum(axis=0) + session * setup_hours) * rate + material.sum(axis=0) + session * setup_material
        whole_hours, whole_material = (drawn(array, draws) for array in self._figures("paint", whole))
        respray = whole_hours * rate + whole_material < by_panel
        hours[:, respray] = material[:, respray] = session[respray] = 0
        hours[2, respray], material[2, respray] = whole_hours[respray], whole_material[respray]
        return hours, material

    def _consumables(self, shop_hours: Floats, draws: Draws | None) -> Floats:
        """Wire, gas, discs, primer, sealer, wax, clips and waste of the whole vehicle, growing with the hours of metalwork."""
        rows = self.layout.book.consumables
        points = np.array([hours for hours, _ in rows])
        low, likely, high = (
            np.interp(shop_hours, points, np.array([getattr(triple, name) for _, triple in rows]))
            for name in ("low", "likely", "high")
        )
        z = drawn(self.chances.z[self.layout.keys["consumables"]], draws)
        out: Floats = likely * np.where(z < 0, likely / low, high / likely) ** (z / Z90) * (shop_hours > 0)
        return out * self.layout.terms.per_usd

    def parts(self, chosen: Sequence[int], draws: Draws | None) -> tuple[Floats, Floats]:
        """Hours and price of the parts `chosen`, (replacements, draws); 0 for the others."""
        shape = (len(self._parts), self.rate.size if draws is None else draws.size)
        hours, material = np.zeros(shape), np.zeros(shape)
        for p in chosen:
            hours[p], material[p] = self._part(p, draws)
        return hours, material

    def _part(self, part: int, draws: Draws | None) -> tuple[Floats, Floats]:
        hours, price = self._parts[part]
        return drawn(hours, draws), drawn(price, draws)

    @cached_property
    def _parts(self) -> list[tuple[Floats, Floats]]:
        """Hours and price of each part in every draw."""
        layout = self.layout
        drawn = [(part, self.chances.z[layout.keys[part.part]]) for part in layout.book.replacements]
        return [(part.hours.at(z), part.price.at(z) * layout.terms.per_usd) for part, z in drawn]
