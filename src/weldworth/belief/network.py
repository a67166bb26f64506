"""The model of one vehicle: prior of every zone, its share in each effect, and the repair history.

Damage of zone z: x = ln(v E) + a f + b g + c u + e, with f the whole vehicle, g the cause group, u the family (a zone, its
hidden layers and its twin) and e the zone's own effect, all standard normal; thresholds on x make the four damage classes.
With a small chance the zone follows none of the shared effects. The repair history then sends part of the pitted and holed
metal to mended and masked. See docs/method.md, "Belief".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weldworth.core.errors import BadInput, Problem
from weldworth.exposure.result import Exposure
from weldworth.tables import Tables
from weldworth.vehicle.plan import Plan

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Network:
    """Everything the engine needs, as arrays over zones (Z,), cause groups (K,), families (J,) and repair states (R,).

    mean : ln(v E), (Z,). vehicle, group, family, own : standard deviations of the four effects, (Z,).
    group_of, family_of : index of each zone's cause group and family, (Z,); group_of_family : (J,).
    thresholds : (3,). local : chance of a cause of its own. repair : prior of the repair states, (R,).
    mended, masked : share of each damage class (R, 4) that the repair state sends there.
    """

    zones: tuple[str, ...]
    mean: Array
    vehicle: Array
    group: Array
    family: Array
    own: Array
    groups: tuple[str, ...]
    group_of: NDArray[np.intp]
    family_of: NDArray[np.intp]
    group_of_family: NDArray[np.intp]
    thresholds: Array
    local: float
    repair_states: tuple[str, ...]
    repair: Array
    mended: Array
    masked: Array

    @property
    def total(self) -> Array:
        """Standard deviation of x of each zone, (Z,)."""
        return np.sqrt(self.vehicle**2 + self.group**2 + self.family**2 + self.own**2)


def settings(tables: Tables, section: str) -> dict[str, float]:
    """The numbers of one section of model.toml; raises BadInput when one is not a number."""
    values = tables.toml("model.toml").get(section)
    if not isinstance(values, dict):
        raise BadInput([Problem("model.toml", f"section [{section}] is missing")])
    numbers = {key: value for key, value in values.items() if key not in ("basis", "source", "as_of")}
    wrong = [key for key, value in numbers.items() if not isinstance(value, int | float)]
    if wrong:
        raise BadInput([Problem(f"model.toml [{section}]", f"{key} is not a number") for key in wrong])
    return {key: float(value) for key, value in numbers.items()}


def repair_prior(repaired: float, well: float, tables: Tables) -> Array:
    """Prior of the repair states (left alone, honestly mended, dressed for sale) that gives a repaired chance and its quality.

    repaired : chance that a zone that would have been holed was repaired, 0..1. well : share of repairs done well, 0..1.
    Three states, three equations (they sum to one, to `repaired`, and to `repaired * well`); clipped to the nearest mix when
    the pair lies outside what the states can give.

    Raises BadInput when either lies outside 0..1.
    """
    for name, value in (("repaired", repaired), ("well", well)):
        if not 0 <= value <= 1:
            raise BadInput([Problem("repair history", f"{name} is {value:g}; give a share from 0 to 1")])
    rows = tables.rows("repair_states.csv", ("state", "name", "repaired", "well"))
    chance = np.array([row.number("repaired", low=0, high=1) for row in rows])
    share = np.array([row.number("well", low=0, high=1) for row in rows])
    system = np.vstack([np.ones(len(rows)), chance, chance * share])
    mix = np.clip(np.linalg.solve(system, [1.0, repaired, repaired * well]), 0.001, None)
    return np.asarray(mix / mix.sum())


def build(
    plan: Plan,
    exposure: Exposure,
    tables: Tables,
    *,
    repaired: float,
    well: float,
    multipliers: Mapping[str, float] | None = None,
) -> Network:
    """The network of one vehicle before any finding.

    What is not known of the exposure widens the effect of the whole vehicle; a cause that does not share that effect (a leak)
    carries it in its own, so that clean metal elsewhere never clears it.

    repaired, well : see `repair_prior`. multipliers : cause group -> further factor on E, [-], from the seller's answers.
    """
    causes = {row.text("cause"): row for row in tables.rows("causes.csv", CAUSE_COLUMNS)}
    zones = plan.zones
    shares = {
        name: np.array([row.number(column, low=0) for column in ("vehicle", "group", "family", "own")])
        for name, row in causes.items()
    }
    channel = {name: row.text("channel") for name, row in causes.items()}
    further = dict(multipliers or {})
    mean = np.array(
        [np.log(z.vulnerability * exposure.factor(channel[z.cause], z.sheltered) * further.get(z.cause, 1.0)) for z in zones]
    )
    variance = np.array([shares[z.cause] for z in zones])
    shared = np.array([0.0 if channel[z.cause] == "acid" else exposure.spread**2 for z in zones])
    alone = variance[:, 0] == 0
    groups = tuple(sorted({z.cause for z in zones}))
    families = tuple(sorted({(z.cause, z.family) for z in zones}))
    states = tables.rows("repair_states.csv", ("state", "name", "repaired", "well"))
    reach = settings(tables, "repair")
    limit = settings(tables, "thresholds")
    moved = np.array([[0.0, 0.0, reach["pitted"], reach["holed"]]]) * np.array([[row.number("repaired")] for row in states])
    good = np.array([[row.number("well")] for row in states])
    return Network(
        zones=tuple(z.id for z in zones),
        mean=mean,
        vehicle=np.sqrt(variance[:, 0] + np.where(alone, 0.0, shared)),
        group=np.sqrt(variance[:, 1] + np.where(alone, shared, 0.0)),
        family=np.sqrt(variance[:, 2]),
        own=np.sqrt(variance[:, 3]),
        groups=groups,
        group_of=np.array([groups.index(z.cause) for z in zones]),
        family_of=np.array([families.index((z.cause, z.family)) for z in zones]),
        group_of_family=np.array([groups.index(cause) for cause, _ in families]),
        thresholds=np.array([limit["surface"], limit["pitted"], limit["holed"]]),
        local=settings(tables, "local")["chance"],
        repair_states=tuple(row.text("state") for row in states),
        repair=repair_prior(repaired, well, tables),
        mended=moved * good,
        masked=moved * (1 - good),
    )


CAUSE_COLUMNS = ("cause", "name", "channel", "vehicle", "group", "family", "own")
