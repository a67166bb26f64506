"""What programs send: one model for each body."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, Field


class Body(BaseModel):
    """Keys that are not known are refused."""

    model_config = ConfigDict(extra="forbid")


class Opening(Body):
    """A new candidate."""

    name: str = Field(description="A name of your own for the vehicle.", examples=["Ostrel Forager 1969"])
    body: str = Field(description="The body plan.", examples=["open-tub"])
    facts: dict[str, Any] = Field({}, description="Further keys of [vehicle] in candidate.toml.", examples=[{"model_year": 1969}])


class Recording(Body):
    """One thing to record."""

    kind: str = Field(description="Kind of entry.", examples=["finding"])
    body: dict[str, Any] = Field(description="What it says: the keys of candidate.toml for this kind.")
    revision: int | None = Field(
        None, description="Revision that this was made from; the same thing changed since is a conflict."
    )


class Correction(Body):
    """What an entry says from now on."""

    body: dict[str, Any]
    revision: int | None = None


class Described(Body):
    """What a picture shows."""

    said: dict[str, Any] = Field(
        description="Keys of [[picture]] in candidate.toml, without file.",
        examples=[{"zones": ["ot.hood"], "regions": {"ot.hood": [120, 80, 640, 420]}, "source": "asked-picture"}],
    )
    revision: int | None = None


class Judged(Body):
    """A suggestion of the machine, by its zone and sign. outline, note : for the finding that comes of accepting it."""

    sign: str = Field(examples=["surface-rust"])
    zone: str = Field("", description="The zone; empty for the whole picture.", examples=["ot.hood"])
    outline: list[list[float]] | None = Field(None, description="Points [across, down] in pixels of the picture.")
    note: str = ""
    revision: int | None = None


class WhatIfs(Body):
    """Terms to try out, each over the terms as they stand."""

    changes: list[dict[str, Any]] = Field(min_length=1, max_length=12, examples=[[{"labour_rate": 120}, {"paint": "none"}]])


class Label(Body):
    """A name for what is kept."""

    label: str = Field(min_length=1, max_length=200)


class Chosen(Body):
    """Asks by their keys, kind:zone."""

    asks: list[str] = Field(min_length=1, max_length=50, examples=[["picture:ot.frame.tail", "question:owned"]])


class Text(Body):
    """An advertisement as pasted. body : the body plan whose zones its claims are put on."""

    text: str = Field(max_length=200_000)
    body: str | None = None


class Terms(Body):
    """The shop's terms, all of them. version : the one that they were made from."""

    terms: dict[str, Any]
    note: str = ""
    version: int | None = None


class TableText(Body):
    """A table's whole text; null goes back to the shipped one."""

    text: str | None
    note: str = ""
    version: int | None = None


class WalkFor(Body):
    """Who walks, by the source of the findings, and for how long."""

    source: str = Field("own-ground", examples=["own-ground"])
    minutes: int = Field(40, examples=[40])


class WalkLink(Body):
    """A helper's link to a walk. label : for one's own list. vehicle : what the page calls the vehicle."""

    label: str = ""
    vehicle: str = ""
    days: float | None = None
    sees: bool = False


class Invitation(Body):
    """Who is invited, as what."""

    name: str = ""
    role: str = Field(examples=["partner"])
