"""Real pictures in the weighing, in a folder and on the desk. Pictures: tests/picture/data/rust_credits.md, intake_credits.md."""

from __future__ import annotations

from pathlib import Path

import av
import cv2
import numpy as np
import pytest
from desks import TABLES, desk_on

import weldworth
from weldworth.bootstrap import looked_at
from weldworth.picture.decode import encoded
from weldworth.store.folder import read_dossier
from weldworth.workbench.desk import Desk
from weldworth.workbench.summary import differing, whole_figures
from weldworth.workbench.weigh import weigh

DATA = Path(__file__).resolve().parents[1] / "picture/data"
RUSTY, PANEL = DATA / "rust_phone_41.jpg", DATA / "intake_panel_a.jpg"
TAIL, HORN = "pu.frame.tail", "pu.frame.horn.l"
HEAD = '[vehicle]\nname = "T"\nbody = "pickup"\nmodel_year = 1968\n[resale]\nlow = 15000\nlikely = 19000\nhigh = 26000\n'


def on(desk: Desk, id: str, by: str, file: Path = RUSTY, **facts: object) -> str:
    return str(desk.add_picture(id, file.read_bytes(), file.name, by, **facts).body["sha256"])


def rusted(desk: Desk, id: str, zone: str = TAIL) -> float:
    """Chance of surface rust or worse, not mended."""
    belief = desk.metal(id).belief.of(zone)
    return belief["surface"] + belief["pitted"] + belief["holed"]


def a_folder(tmp_path: Path, more: str, **pictures: bytes) -> Path:
    folder = tmp_path / "in"
    (folder / "pictures").mkdir(parents=True)
    (folder / "candidate.toml").write_text(HEAD + more)
    for name, data in pictures.items():
        (folder / "pictures" / f"{name}.jpg").write_bytes(data)
    return folder


def test_a_rusty_picture_counts_on_its_zone_until_a_person_speaks_and_again_when_that_is_undone(
    desk: Desk, pickup: str, ann: str
) -> None:
    nothing = rusted(desk, pickup)
    sha256 = on(desk, pickup, ann, source="asked-picture")
    assert rusted(desk, pickup) == nothing, "on no zone yet"
    desk.describe_picture(pickup, sha256, {"zones": [TAIL]}, ann)
    by_machine = rusted(desk, pickup)
    assert by_machine > nothing
    desk.dismiss(pickup, sha256, TAIL, "surface-rust", ann)
    assert rusted(desk, pickup) < by_machine
    desk.undo_last(pickup, ann)
    assert rusted(desk, pickup) == by_machine
    desk.accept(pickup, sha256, TAIL, "surface-rust", ann)
    assert rusted(desk, pickup) > by_machine, "a person's word says more"
    absent = {"zone": TAIL, "sign": "surface-rust", "absent": True, "source": "asked-picture", "picture": RUSTY.name}
    desk.undo_last(pickup, ann)
    desk.record(pickup, "finding", absent, ann)
    assert rusted(desk, pickup) < by_machine


def test_the_same_dossier_weighs_the_same_in_its_folder_on_the_desk_and_written_out_again(
    desk: Desk, ann: str, tmp_path: Path
) -> None:
    picture = f'[[picture]]\nfile = "a.jpg"\nzones = ["{TAIL}", "{HORN}"]\nregions = {{ "{TAIL}" = [20, 100, 180, 400] }}\n'
    finding = f'[[finding]]\nzone = "{HORN}"\nsign = "scale"\nsource = "video"\npicture = "b.jpg"\n'
    folder = a_folder(tmp_path, picture + finding, a=RUSTY.read_bytes(), b=PANEL.read_bytes())
    today = desk.clock.today()

    def figures(place: Path) -> dict[str, object]:
        dossier = looked_at(read_dossier(place, TABLES, today=today), TABLES)
        return whole_figures(weigh(dossier, TABLES, today=today, asks=0))

    id = desk.import_dossier(folder, ann)
    assert differing(figures(folder), whole_figures(desk.weighing(id))) == ()
    assert differing(figures(folder), figures(desk.export_dossier(id, tmp_path / "out"))) == ()


def test_the_public_weigh_looks_at_the_pictures(tmp_path: Path) -> None:
    folder = a_folder(tmp_path, f'[[picture]]\nfile = "a.jpg"\nzones = ["{TAIL}"]\n', a=RUSTY.read_bytes())
    one, again = (weldworth.weigh(weldworth.read_dossier(folder), asks=0) for _ in range(2))
    assert any("by the machine on a.jpg" in piece.text for piece in one.belief.pieces)
    assert np.array_equal(one.belief.zones, again.belief.zones), "the same pictures, the same digits"


def test_what_was_seen_once_is_not_decoded_again(desk: Desk, pickup: str, ann: str, tmp_path: Path) -> None:
    sha256 = on(desk, pickup, ann, zones=[TAIL], source="asked-picture")
    first = whole_figures(desk.weighing(pickup))
    desk.pictures.path(sha256).write_bytes(b"nothing that could be decoded")
    desk.record(pickup, "finding", {"zone": HORN, "sign": "hole", "source": "own-lift"}, ann)
    assert rusted(desk, pickup) > 0.5
    desk.undo_last(pickup, ann)
    fresh = desk_on(desk.store, tmp_path)
    assert differing(first, whole_figures(fresh.weighing(pickup))) == ()


def test_a_mirrored_and_cropped_copy_in_the_same_candidate_is_named_and_not_weighed(desk: Desk, ann: str, tmp_path: Path) -> None:
    pixels = cv2.imread(str(PANEL))
    copy = encoded(np.ascontiguousarray(cv2.cvtColor(pixels[60:, ::-1], cv2.COLOR_BGR2RGB)), 70)
    items = f'[[picture]]\nfile = "a.jpg"\nzones = ["{TAIL}"]\n[[picture]]\nfile = "b.jpg"\nzones = ["{HORN}"]\n'
    id = desk.import_dossier(a_folder(tmp_path, items, a=PANEL.read_bytes(), b=copy), ann)
    weighing = desk.weighing(id)
    assert ("alike", "b.jpg") in {(remark.code, remark.about) for remark in weighing.remarks}
    assert "a.jpg mirrored" in next(remark.text for remark in weighing.remarks if remark.code == "alike")
    assert not any("machine on b.jpg" in piece.text for piece in weighing.belief.pieces)


def test_a_snapshot_of_a_candidate_with_pictures_comes_out_the_same_anew(desk: Desk, pickup: str, ann: str) -> None:
    on(desk, pickup, ann, zones=[TAIL], source="asked-picture")
    seq = desk.snapshot(pickup, "before the bid", ann).seq
    desk.record(pickup, "finding", {"zone": TAIL, "sign": "hole", "source": "own-lift"}, ann)
    assert desk.recompute(pickup, seq).same


def test_a_picture_that_lost_its_original_is_said_and_the_rest_is_weighed(desk: Desk, pickup: str, ann: str) -> None:
    sha256 = on(desk, pickup, ann, zones=[TAIL])
    desk.pictures.path(sha256).unlink()
    told = [remark.text for remark in desk.weighing(pickup).remarks if remark.code == "picture-unread"]
    assert told == ["has lost its original in the picture folder; take it in again"]


def test_a_video_of_a_dossier_comes_in_with_its_frames_and_goes_out_and_in_again_the_same(
    desk: Desk, ann: str, tmp_path: Path
) -> None:
    folder = a_folder(tmp_path, "", a=RUSTY.read_bytes())
    with av.open(str(folder / "pictures/walk.mp4"), "w") as container:
        stream = container.add_stream("libx264", rate=12)
        stream.width, stream.height, stream.pix_fmt = 320, 240, "yuv420p"
        shown = [cv2.resize(cv2.cvtColor(cv2.imread(str(file)), cv2.COLOR_BGR2RGB), (320, 240)) for file in (PANEL, RUSTY)]
        for picture in [shown[number // 12] for number in range(24)]:
            container.mux(stream.encode(av.VideoFrame.from_ndarray(picture, format="rgb24")))
        container.mux(stream.encode(None))
    assert "only its frames are looked at" in " ".join(
        remark.text for remark in weldworth.weigh(weldworth.read_dossier(folder), asks=0).remarks
    )
    id = desk.import_dossier(folder, ann)
    names = [picture.name for picture in desk.candidate(id).pictures]
    assert names[:2] == ["a.jpg", "walk.mp4"] and len(names) == 4 and names[2].startswith("walk.mp4 at 0.")
    frame = desk.candidate(id).pictures[3]
    desk.describe_picture(id, frame.sha256, {"zones": [TAIL], "source": "video"}, ann)
    codes = {remark.code for remark in desk.weighing(id).remarks}
    assert "picture-unread" not in codes and "picture-unplaced" in codes
    again = desk.import_dossier(desk.export_dossier(id, tmp_path / "out"), ann)
    assert [(one.name, one.sha256, one.zones) for one in desk.candidate(again).pictures] == sorted(
        (one.name, one.sha256, one.zones) for one in desk.candidate(id).pictures
    )


def test_a_small_box_drawn_about_rust_does_not_make_a_sharp_picture_poor(tmp_path: Path) -> None:
    finding = f'[[finding]]\nzone = "{TAIL}"\nsign = "scale"\nsource = "asked-picture"\npicture = "a.jpg"\n'
    holed = []
    for number, more in enumerate(("", "region = [400, 240, 430, 260]\n", "quality = 0.02\n")):
        folder = a_folder(tmp_path / str(number), finding + more, a=PANEL.read_bytes())
        holed.append(weldworth.weigh(weldworth.read_dossier(folder), asks=0).belief.of(TAIL)["holed"])
    assert holed[1] == pytest.approx(holed[0], rel=0.15) and holed[2] < 0.75 * holed[0]
