"""Dossier folders and the shop's own tables on the disk: the edges that the desk is given."""

from __future__ import annotations

import hashlib
import shutil
import tempfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path, PurePosixPath

from weldworth.core.errors import BadInput, Problem
from weldworth.store.folder import take_dossier
from weldworth.tables.load import Tables, load_tables
from weldworth.workbench.ports import Taken


class DossierFolders:
    """Reads dossier folders, and writes folders that were not there."""

    def take(self, folder: Path, tables: Tables, today: date) -> Taken:
        """The dossier in the folder as written; raises as `read_dossier`."""
        return take_dossier(folder, tables, today=today)

    def write(self, folder: Path, files: Iterable[tuple[str, bytes | Path]]) -> None:
        """Write the files into a new or empty folder: all of them, or the folder is not there.

        Raises BadInput where something lies there already or it cannot be written.
        """
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            raise BadInput([Problem(str(folder), "is there already and not empty; give a folder that is not there yet")])
        try:
            folder.parent.mkdir(parents=True, exist_ok=True)
            trial = Path(tempfile.mkdtemp(dir=folder.parent, prefix=f".{folder.name}."))
            try:
                for name, content in files:
                    self._put(trial / _inside(name), content)
                trial.chmod(0o755)
                if folder.exists():
                    folder.rmdir()
                trial.rename(folder)
            finally:
                shutil.rmtree(trial, ignore_errors=True)
        except OSError as error:
            text = f"cannot be written: {error.strerror}; give another folder"
            raise BadInput([Problem(str(folder), text)]) from None

    def _put(self, path: Path, content: bytes | Path) -> None:
        path.parent.mkdir(parents=True, exist_ok=True)
        if isinstance(content, bytes):
            path.write_bytes(content)
        else:
            shutil.copyfile(content, path)


def _inside(name: str) -> str:
    """The name where it stays inside the folder; raises BadInput otherwise."""
    path = PurePosixPath(name)
    if path.is_absolute() or ".." in path.parts or "\\" in name or "\0" in name:
        raise BadInput([Problem(name[:60], "leads out of the folder; give the picture another name")])
    return name


@dataclass(frozen=True, slots=True)
class TableShelf:
    """The shop's own tables, one folder for each set of them, named by what they hold."""

    root: Path

    def lay(self, files: Mapping[str, str]) -> Tables:
        """The shipped tables with `files` (name -> text) over them."""
        digest = hashlib.sha256(repr(sorted(files.items())).encode()).hexdigest()[:16]
        target = self.root / digest
        if not target.is_dir():
            self.root.mkdir(parents=True, exist_ok=True)
            trial = Path(tempfile.mkdtemp(dir=self.root, prefix=f".{digest}."))
            try:
                for name, text in files.items():
                    path = trial / _inside(name)
                    path.parent.mkdir(parents=True, exist_ok=True)
                    path.write_text(text, encoding="utf-8")
                trial.chmod(0o755)
                if not target.is_dir():
                    trial.rename(target)
            finally:
                shutil.rmtree(trial, ignore_errors=True)
        return load_tables(target)
