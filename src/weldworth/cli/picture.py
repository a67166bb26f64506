"""picture check, rust, measure and plate: what pictures show, file by file."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
import typer
from rich.progress import Progress

from weldworth.belief.machine import trusts
from weldworth.bootstrap import day, shop_tables
from weldworth.cli.output import console, printed, put, say
from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.picture import Intake, find_reference, from_points, look, overlay, read_plate, rust_mask, take_in
from weldworth.picture.alike import alike_within, print_of
from weldworth.picture.decode import Pixels, decode, encoded
from weldworth.picture.doubts import date_remarks, software_remarks
from weldworth.picture.folder import PictureFolder
from weldworth.picture.limits import limits
from weldworth.picture.plane import Measure
from weldworth.picture.quality import read
from weldworth.picture.rust import RUSTED
from weldworth.picture.scale import Reference
from weldworth.report.numbers import of_area
from weldworth.report.promised import as_text
from weldworth.report.text import Printer, plain
from weldworth.tables import Tables

QUALITY = 90  # JPEG quality of what is written with --out
Point = tuple[float, float]
Region = tuple[int, int, int, int]
Told = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Marks:
    """What to measure, in pixels of the upright picture; `rust` adds the area of the rust found."""

    length: tuple[Point, ...] = ()
    width: tuple[Point, ...] = ()
    area: tuple[Point, ...] = ()
    rust: bool = False


@dataclass(frozen=True, slots=True)
class Scale:
    """Where millimetres come from: an object of a kind, near a tap, or two points `mm` apart."""

    kind: str | None
    near: Point | None = None
    points: tuple[Point, ...] = ()
    mm: float | None = None
    focal_35mm: float | None = None


def check_pictures(files: Sequence[Path], *, as_json: bool) -> None:
    """weldworth picture check: files, folders and zips; leaves with 2 where a file could not be used."""
    tables = shop_tables()
    with tempfile.TemporaryDirectory(prefix="weldworth-") as place:
        taken = _taken(files, PictureFolder(Path(place)), tables, quiet=as_json)
        prints = {
            one.name: print_of(
                decode(PictureFolder(Path(place)).get(one.sha256, "preview"), "JPEG", one.name, limits(tables)).pixels
            )
            for one in taken.pictures
        }
    captures = {one.name: one.capture for one in taken.pictures}
    doubts = [*date_remarks(captures, today=day()), *software_remarks(captures, tables)]
    remarks = [*taken.remarks, *doubts, *alike_within(prints)]
    pictures = [
        {
            "name": one.name, "sha256": one.sha256, "kind": one.kind, "width": one.width, "height": one.height,
            "taken_at": one.capture.taken_at.isoformat() if one.capture.taken_at else None, "camera": one.capture.camera,
            "position": one.capture.position, "q": one.verdict.q, "usable": one.verdict.usable, "faults": one.verdict.faults,
            "words": one.verdict.words,
            "remarks": [remark.text for remark in remarks if remark.about == one.name],
        }
        for one in taken.pictures
    ]  # fmt: skip
    _tell(pictures, taken.problems, _checked, as_json=as_json)


def rust_in(files: Sequence[Path], *, region: Region | None, out: Path | None, as_json: bool) -> None:
    """weldworth picture rust; leaves with 2 where a file could not be used."""
    tables, folder = shop_tables(), _folder(out)
    bounds = limits(tables)

    def one(file: Path) -> Told:
        pixels = read(file, bounds, region, int(bounds.working_px)).pixels
        found = look(pixels, region, tables=tables)
        told: Told = {"name": file.name, **asdict(found)}
        told["synthetic_only"] = [sign for sign, _ in found.signs if not trusts(tables)[sign].photographs]
        if folder is not None:
            told["overlay"] = _drawn(folder, file, "rust", overlay(pixels, rust_mask(pixels)))
        return told

    _each(files, one, _rusted, as_json=as_json)


def measure_in(files: Sequence[Path], *, scale: Scale, marks: Marks, as_json: bool) -> None:
    """weldworth picture measure; leaves with 2 where a file could not be used."""
    tables = shop_tables()
    bounds = limits(tables)
    if not scale.kind and scale.mm is None:
        text = "neither --object nor --apart is given; say what lies on the metal, or two points with --between and --apart"
        raise BadInput([Problem("--object", text)])
    if marks == Marks():
        text = "nothing is marked to measure; give --length, --width or --area with points, or --rust"
        raise BadInput([Problem("picture measure", text)])

    def one(file: Path) -> Told:
        pixels = read(file, bounds).pixels
        reference = _reference(pixels, scale, tables)
        plane, mask = reference.plane, rust_mask(pixels) > RUSTED if marks.rust else None
        found: dict[str, Measure] = {}
        if marks.length:
            found["length"] = plane.length(np.array(marks.length))
        if marks.width:
            found["width"] = plane.width(np.array(marks.width))
        if marks.area:
            found["area"] = plane.area(np.array(marks.area))
        if mask is not None and mask.any():
            found["area of rust"] = plane.area(mask)
        return {
            "name": file.name,
            "object": reference.kind,
            "tilt_deg": reference.tilt_deg,
            "level": plane.level,
            "measures": {name: asdict(measure) for name, measure in found.items()},
            "rust": None if mask is None else bool(mask.any()),
            "remarks": [remark.text for remark in reference.remarks],
        }

    _each(files, one, _measured, as_json=as_json)


def plate_in(files: Sequence[Path], *, region: Region | None, out: Path | None, as_json: bool) -> None:
    """weldworth picture plate; leaves with 2 where a file could not be used."""
    tables, folder = shop_tables(), _folder(out)
    bounds = limits(tables)

    def one(file: Path) -> Told:
        found = read_plate(read(file, bounds).pixels, region, tables=tables)
        told: Told = {
            "name": file.name,
            "candidates": [asdict(candidate) for candidate in found.candidates],
            "other": found.other,
            "characters": found.characters,
            "box": found.box,
            "check_digit_chose": found.rescued,
            "remarks": [remark.text for remark in found.remarks],
        }
        if folder is not None:
            told["crop"] = _drawn(folder, file, "plate", found.crop)
        return told

    _each(files, one, _read, as_json=as_json)


def points_of(text: str | None, option: str, least: int = 1) -> tuple[Point, ...]:
    """Points written ``x,y x,y``, in pixels; raises BadInput naming the option."""
    if text is None:
        return ()
    try:
        found = tuple((float(x), float(y)) for x, y in (part.split(",") for part in text.split()))
    except ValueError:
        found = ()
    if len(found) < least:
        raise BadInput([Problem(option, f"{text!r} is not {least} or more points; write them as '120,80 310,95', in pixels")])
    return found


def region_of(text: str | None) -> Region | None:
    """A region written ``left,top,right,bottom``, in pixels of the upright picture; raises BadInput."""
    if text is None:
        return None
    try:
        left, top, right, bottom = (int(part) for part in text.split(","))
    except ValueError:
        raise BadInput([Problem("--region", f"{text!r} is no region; write left,top,right,bottom in pixels")]) from None
    return left, top, right, bottom


def _taken(files: Sequence[Path], folder: PictureFolder, tables: Tables, *, quiet: bool) -> Intake:
    shown = console(stderr=True)
    with Progress(console=shown, transient=True, disable=quiet or not shown.is_terminal) as bar:
        task = bar.add_task("Looking at pictures", total=None)
        return take_in(files, folder, tables=tables, progress=lambda done, of, _: bar.update(task, completed=done, total=of))


def _each(files: Sequence[Path], work: Callable[[Path], Told], show: Callable[[Printer, Told], None], *, as_json: bool) -> None:
    """Every file, whatever becomes of the others."""
    told, problems, shown = [], [], console(stderr=True)
    with Progress(console=shown, transient=True, disable=as_json or not shown.is_terminal) as bar:
        for file in bar.track(files, description="Looking at pictures"):
            try:
                told.append(work(file))
            except BadInput as error:
                problems += [_in_file(file, problem) for problem in error.problems]
            except NotFound as error:
                problems.append(Problem("", str(error)))
    _tell(told, problems, show, as_json=as_json)


def _in_file(file: Path, problem: Problem) -> Problem:
    where = problem.where if problem.where.startswith(file.name) else f"{file.name}: {problem.where}".removesuffix(": ")
    return Problem(where, problem.text)


def _tell(told: Sequence[Told], problems: Sequence[Problem], show: Callable[[Printer, Told], None], *, as_json: bool) -> None:
    if as_json:
        say(as_text({"pictures": list(told), "problems": [asdict(problem) for problem in problems]}))
    else:
        if told or not problems:
            with printed() as out:
                printer = Printer(out)
                for one in told:
                    show(printer, one)
                if not told:
                    printer.line("No pictures there.")
        shown = console(stderr=True)
        for problem in problems:
            shown.print(plain(str(problem)), soft_wrap=True)
    if problems:
        raise typer.Exit(2)


def _checked(printer: Printer, one: Told) -> None:
    printer.line((one["name"], "bold"), f"  {one['width']} x {one['height']}, quality {one['q']:.2f}: {one['words']}")
    for remark in one["remarks"]:
        printer.line(remark, indent=2)


def _rusted(printer: Printer, one: Told) -> None:
    grade = f"{of_area(one['area_percent'])} of it, about Ri {one['ri']:g} (ISO 4628-3), grade {one['d610']} (ASTM D610)"
    printer.line((one["name"], "bold"), f"  rust {one['chance']:.0%} likely; {grade}")
    for sign, chance in one["signs"]:
        tried = " (tried on synthetic pictures alone)" if sign in one["synthetic_only"] else ""
        printer.line(f"perhaps {sign}: {chance:.0%}{tried}", indent=2)
    if "overlay" in one:
        printer.line(f"marked in {one['overlay']}", indent=2)


def _measured(printer: Printer, one: Told) -> None:
    printer.line((one["name"], "bold"), f"  by {one['object']}, seen {one['tilt_deg']:.0f} degrees from straight on")
    for name, measure in one["measures"].items():
        unit = measure["unit"].replace("2", "²")
        span = f"{one['level']:.0%} likely between {measure['low']:.4g} and {measure['high']:.4g}"
        printer.line(f"{name} {measure['value']:.4g} {unit}, {span}", indent=2)
    if one["rust"] is False:
        printer.line("no rust found in it", indent=2)
    for remark in one["remarks"]:
        printer.line(remark, indent=2)


def _read(printer: Printer, one: Told) -> None:
    printer.line((one["name"], "bold"), "  perhaps, to be compared with the picture:")
    for candidate in one["candidates"]:
        words = {"right": "check digit right", "wrong": "check digit wrong", "none": "no check digit"}[candidate["check"]]
        printer.line(f"{candidate['text']}  {_share(candidate['probability'])}, {words}", indent=2)
    printer.line(f"none of these  {_share(one['other'])}", indent=2)
    for remark in one["remarks"]:
        printer.line(remark, indent=2)
    if "crop" in one:
        printer.line(f"cut out in {one['crop']}", indent=2)


def _share(chance: float) -> str:
    return f"{chance:.0%}" if chance > 0.005 else "under 1%"


def _reference(pixels: Pixels, scale: Scale, tables: Tables) -> Reference:
    if scale.kind is not None:
        return find_reference(pixels, scale.kind, scale.near, focal_35mm=scale.focal_35mm, tables=tables)
    if len(scale.points) != 2 or scale.mm is None:
        raise BadInput([Problem("--between", f"{len(scale.points)} points are given; give two, as '120,80 310,95'")])
    size = (pixels.shape[1], pixels.shape[0])
    return from_points(*scale.points, scale.mm, size, focal_35mm=scale.focal_35mm, tables=tables)


def _folder(out: Path | None) -> Path | None:
    """The folder to write into, made where it is not there; raises BadInput."""
    if out is None:
        return None
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadInput([Problem("--out", f"{out} cannot be a folder: {error.strerror}; give another")]) from None
    return out


def _drawn(folder: Path, file: Path, what: str, pixels: Pixels) -> str:
    path = folder / f"{file.stem}-{what}.jpg"
    put(path, encoded(pixels, QUALITY))
    return str(path)
