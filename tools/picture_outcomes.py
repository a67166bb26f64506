"""Take in a folder of odd and broken pictures and write what came of each kind into docs/pictures.md.

python tools/picture_outcomes.py FOLDER
"""

from __future__ import annotations

import re
import sys
import tempfile
from collections import defaultdict
from pathlib import Path, PurePosixPath

from weldworth.picture import Intake, take_in
from weldworth.picture.folder import PictureFolder

PAGE = Path(__file__).resolve().parent.parent / "docs" / "pictures.md"
START, END = "<!-- outcomes: written by tools/picture_outcomes.py -->", "<!-- end of outcomes -->"
EXAMPLES = 2


def outcomes(folder: Path) -> tuple[Intake, int]:
    """The intake of every file in `folder`, and how many files there are."""
    with tempfile.TemporaryDirectory() as place:
        return take_in(folder, PictureFolder(Path(place))), sum(path.is_file() for path in folder.rglob("*"))


def table(found: Intake, files: int) -> str:
    """Counts and examples of each outcome, most frequent first."""
    groups: dict[tuple[str, str], list[str]] = defaultdict(list)
    for picture in found.pictures:
        if picture.of is None:
            groups["read", f"{picture.kind} picture"].append(picture.name)
    for video in found.videos:
        groups["read", f"video ({video.codec})"].append(video.name)
    for remark in found.remarks:
        if remark.code == "same-file":
            groups["read", "the same file as another, counted once"].append(remark.about)
    for problem in found.problems:
        groups["refused", _general(problem.text)].append(problem.where)
    read = sum(len(names) for (how, _), names in groups.items() if how == "read")
    odd = defaultdict(list)
    for remark in found.remarks:
        if remark.code != "same-file":
            odd[_general(remark.text)].append(remark.about)
    lines = [f"{files} files: {read} read, {len(found.problems)} refused with a reason, none lost.", ""]
    lines += ["| outcome | files | what | for example |", "|---|---|---|---|"]
    for (how, what), names in sorted(groups.items(), key=lambda item: (item[0][0], -len(item[1]), item[0][1])):
        lines.append(f"| {how} | {len(names)} | {what} | {_examples(names)} |")
    for what, names in sorted(odd.items(), key=lambda item: -len(item[1])):
        lines.append(f"| read, with a remark | {len(names)} | {what} | {_examples(names)} |")
    return "\n".join(lines) + "\n"


def _general(text: str) -> str:
    """The sentence with its particulars taken out, so that like cases count together."""
    text = re.sub(r"; give JPEG.*", "; give ...", text)
    return re.sub(r"\d[\d.]*(?= x|,| pixels)|(?<=x )\d+", "n", text).replace("|", "\\|")


def _examples(names: list[str]) -> str:
    return ", ".join(f"`{PurePosixPath(name).name}`" for name in sorted(names, key=lambda name: (len(name), name))[:EXAMPLES])


def main() -> None:
    found, files = outcomes(Path(sys.argv[1]))
    page = PAGE.read_text(encoding="utf-8")
    before, after = page.split(START)[0], page.split(END)[1]
    PAGE.write_text(f"{before}{START}\n\n{table(found, files)}\n{END}{after}", encoding="utf-8")


if __name__ == "__main__":
    main()
