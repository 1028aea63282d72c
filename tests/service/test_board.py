"""`board` from measured views to the answer: the words, the JSON by its schema, refusals and exit statuses."""

import json
import math
from dataclasses import replace
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from calibration.outcome import WARNINGS, refuse
from calibration.quantity import Quantity, Source
from service.answers.board_text import board_text
from service.cli import main
from service.measuring.board_check import BoardPhotos, BoardResult, RefusedBoard, check_board
from service.measuring.checking import CheckSettings
from tests.vision.answer.test_result import SCHEMA
from tests.vision.faces import Errors, end_measurement, face_measurement, moved_face, true_board
from tests.vision.photos import encoded, picture
from vision.board.views import taken_for_the_other
from vision.board.words import slope_text

BOARD = true_board([0.0, 0.0, 0.0, -0.02, 0.0, 0.03], [0.0, 0.25, 0.25, -0.3, -0.3, 0.0])
"""Between tails 1 and 2 twisted shut toward the baseline, between 2 and 3 twisted open."""

FINE = Errors(place_mm=0.004, shared_mm=0.01, slope=0.0005)


@pytest.fixture(scope="module")
def photos(tmp_path_factory):
    """Three photos that can be decoded, for views that are measured by the tests' own numbers."""
    folder = tmp_path_factory.mktemp("board")
    paths = [folder / f"{name}.png" for name in ("end", "show", "transfer")]
    for number, path in enumerate(paths):
        path.write_bytes(encoded(np.roll(picture(), number, axis=1), "PNG"))
    return BoardPhotos(*paths)


def end_of(photo, settings):
    return end_measurement(BOARD, FINE)


def face_of(photo, view, settings):
    return face_measurement(BOARD, view, FINE)


def checked(photos, settings=CheckSettings(species="pine"), end=end_of, face=face_of):  # noqa: B008 - frozen
    return check_board(photos, settings, measure_end=end, measure_face=face)


def text_of(result, units="mm", **options):
    return board_text(result.report, result.refused, units, **options)


def test_the_answer_names_verdict_walls_and_sockets_in_depth(photos):
    text = text_of(checked(photos))
    assert text.splitlines()[0].startswith("Start over: pin between tails 1 and 2 too tight;")
    assert "Board 108.0 mm wide, 19.0 mm thick, baseline 16.0 mm from the end." in text
    assert "The end and the show face agree: they differ by 0.00 mm at most." in text
    words = " ".join(text.split())
    assert "It is widest at the baseline." in words
    assert "from the show face and" in words
    assert max(map(len, text.splitlines())) <= 80


def test_slopes_are_told_as_people_say_them_with_u_of_the_rise():
    # 1:7 known to 0.001: the rise changes by 49 times that.
    assert slope_text(Quantity(1 / 7, {Source("line"): 0.001}, "")) == "1:7.00 ± 0.10"
    assert slope_text(Quantity(0.001, {Source("line"): 0.001}, "")) == "none"


def test_inches_and_colour_reach_the_table(photos):
    text = text_of(checked(photos), "inch", colour=True)
    assert "4 1/4 in wide" in text
    assert "\x1b[" in text


def test_assumptions_are_told_when_asked_for(photos):
    result = checked(photos)
    assert "from the end to the baseline" not in text_of(result)
    assert "from the end to the baseline" in " ".join(text_of(result, explain=True).split())


@pytest.mark.parametrize("faces", [("show", "transfer"), ("show",), ("transfer",)])
def test_the_json_keeps_the_schema_whichever_faces_there_are(photos, faces):
    given = BoardPhotos(photos.end, **{face: getattr(photos, face) for face in faces})
    value = json.loads(json.dumps(checked(given).to_dict()))
    jsonschema.Draft202012Validator(SCHEMA).validate(value)
    assert [one["view"] for one in value["photos"]] == ["end", *faces]
    assert value["in_depth"]["board"]["baseline_depth_mm"] == pytest.approx(16.0)
    assert len(value["in_depth"]["walls"]) == 6
    socket = value["in_depth"]["sockets"][1]
    assert socket["by_depth"][-1]["taper_mm"] == pytest.approx(
        -0.5 if "transfer" in faces and "show" in faces else 0.0, abs=0.01
    )


def test_the_json_tells_the_corners_leans_and_slopes_of_every_wall(photos):
    wall = checked(photos).to_dict()["in_depth"]["walls"][1]
    expected = BOARD.corners[1]
    found = [wall["x_mm"][name] for name in ("show_end", "transfer_end", "show_baseline", "transfer_baseline")]
    assert found == pytest.approx(list(expected), abs=1e-4)  # rounded to four decimals
    assert (wall["tail"], wall["side"]) == (0, "right")
    assert wall["slope_transfer"] == pytest.approx(1 / 7, abs=1e-4)
    assert wall["twist_deg"] == pytest.approx(wall["lean_baseline_deg"] - wall["lean_end_deg"], abs=0.001)


def test_an_odd_wall_is_told_and_the_rest_goes_on(photos):
    def odd(photo, view, settings):
        face = face_of(photo, view, settings)
        return moved_face(face, 0.3, 2) if view == "show" else face

    result = checked(photos, face=odd)
    words = " ".join(text_of(result).split())
    assert "agree but for this: the left wall of tail 2 lies 0.30 ± 0.0" in words
    assert "farther left on the end" in words
    jsonschema.validate(json.loads(json.dumps(result.to_dict())), SCHEMA)


def test_a_photo_to_doubt_is_named_with_what_is_wrong_and_the_advice_is_to_photograph_again(photos):
    def false(photo, view, settings):
        face = face_of(photo, view, settings)
        return replace(moved_face(face, 2.0), width=face.width + 2.0) if view == "transfer" else face

    result = checked(photos, face=false)
    text = " ".join(text_of(result).split())
    assert text.startswith("Photograph again: the photos contradict one another.")
    assert "Doubt the photo of the transfer face" in text
    assert "the board's left side lies 2.00" in text
    assert "Nothing is known of the transfer face" in text
    value = result.to_dict()
    jsonschema.validate(json.loads(json.dumps(value)), SCHEMA)
    assert (value["advice"], value["agreement"]["doubt"]) == ("photograph again", "transfer")
    assert [one["used"] for one in value["photos"]] == [True, True, False]


def test_exchanged_faces_are_told_in_so_many_words(photos):
    def exchanged(photo, view, settings):
        face = face_of(photo, "transfer" if view == "show" else "show", settings)
        kerfs = [replace(kerf, x_at_end=kerf.x_at_end + 0.5) for kerf in face.kerfs]
        return taken_for_the_other(replace(face, kerfs=tuple(kerfs)))

    def end(photo, settings):
        measured = end_of(photo, settings)
        walls = [replace(one, x_show=one.x_show + 0.5, x_transfer=one.x_transfer + 0.5) for one in measured.walls]
        return replace(measured, walls=tuple(walls))

    result = checked(photos, end=end, face=exchanged)
    assert "agree when show and transfer face are exchanged" in " ".join(text_of(result).split())
    assert result.to_dict()["agreement"]["exchanged"] is True


@pytest.mark.parametrize(
    ("by", "words"), [("scale", "everything is smaller on the end"), ("width", "the board's right side lies")]
)
def test_a_false_scale_and_a_false_side_are_told_in_words(photos, by, words):
    def false(photo, view, settings):
        face = face_of(photo, view, settings)
        if view == "transfer":
            return face
        factor = 1.01 if by == "scale" else 1.0
        kerfs = tuple(replace(k, x_at_end=replace(k.x_at_end, value=k.x_at_end.value * factor)) for k in face.kerfs)
        return replace(face, kerfs=kerfs, width=replace(face.width, value=face.width.value * 1.01))

    assert words in " ".join(text_of(checked(photos, face=false)).split())


def test_a_face_that_cannot_be_measured_is_told_and_the_rest_goes_on(photos):
    def failing(photo, view, settings):
        if view == "show":
            raise refuse("no_card")
        return face_of(photo, view, settings)

    result = checked(photos, face=failing)
    assert isinstance(result, BoardResult)
    words = " ".join(text_of(result).split())
    assert "The photo of the show face could not be measured: No card was found" in words
    assert "Nothing is known of the show face: its slopes are taken as those of the other, within 1.1 degrees." in words
    value = json.loads(json.dumps(result.to_dict()))
    jsonschema.validate(value, SCHEMA)
    assert [(one["view"], one["used"]) for one in value["photos"]] == [
        ("end", True),
        ("transfer", True),
        ("show", False),
    ]


def test_without_the_end_or_any_face_the_refusal_names_its_photo(photos):
    def failing(*unused):
        raise refuse("no_card")

    for result, path in ((checked(photos, end=failing), photos.end), (checked(photos, face=failing), photos.show)):
        assert isinstance(result, RefusedBoard)
        assert result.file == str(path)
        jsonschema.validate(json.loads(json.dumps(result.to_dict())), SCHEMA)


def test_faces_with_other_walls_and_walls_that_cross_are_refused(photos):
    def other(photo, view, settings):
        return face_measurement(true_board([0.0] * 4, [0.0] * 4), view)

    def crossing(photo, view, settings):
        return face_measurement(
            replace(BOARD, corners=BOARD.corners + [0, 0, 40, 40] * (1 - 2 * (BOARD.corners[:, :1] > 30))), view
        )

    reasons = [checked(photos, face=face).refusal.reason for face in (other, crossing)]
    assert reasons == ["views_not_one_board", "kerfs_do_not_pair"]


def test_warnings_and_cuts_past_the_baseline_are_told_of_each_photo(photos):
    def warned(photo, view, settings):
        face = face_of(photo, view, settings)
        past = replace(face.kerfs[2], past_baseline=Quantity(0.6, {Source("line"): 0.05}), verdict="past the baseline")
        return replace(face, warnings=(WARNINGS["soft_photo"],), kerfs=(*face.kerfs[:2], past, *face.kerfs[3:]))

    words = " ".join(text_of(checked(photos, face=warned)).split())
    assert "Note on the show face: The photo is a little soft." in words
    assert "Sawn past the baseline on the show face: left wall of tail 2 by 0.60 ± 0.10 mm." in words


def test_what_a_person_told_reaches_the_measurement_and_the_prediction(photos):
    settings = CheckSettings(species="pine", baseline_depth_mm=8.0, stage="cleared")
    seen = []

    def noted(photo, view, told):
        seen.append((view, told.stage))
        return face_of(photo, view, told)

    result = checked(photos, settings, face=noted)
    assert seen == [("show", "cleared"), ("transfer", "cleared")]
    assert result.report.shape.depth == Quantity(8.0)
    assert result.report.joint.prediction.species.name == "eastern white pine"


def test_the_command_needs_a_face(capsys, photos):
    assert main(["board", "--end", str(photos.end)]) == 2
    assert "--show or --transfer" in capsys.readouterr().err


def test_one_photo_is_no_two_views(tmp_path, capsys):
    for name in ("end.jpg", "show.jpg"):
        (tmp_path / name).write_bytes(b"one photo")
    assert main(["board", "--end", str(tmp_path / "end.jpg"), "--show", str(tmp_path / "show.jpg")]) == 2
    assert "the same photo was given twice" in capsys.readouterr().err


def test_the_command_tells_which_photo_was_refused(capsys, photos):
    arguments = ["board", "--end", str(photos.end), "--show", str(photos.show)]
    assert main(arguments) == 3
    assert str(photos.end) in capsys.readouterr().out
    assert main([*arguments, "--json"]) == 3
    value = json.loads(capsys.readouterr().out)
    jsonschema.validate(value, SCHEMA)
    assert Path(value["file"]) == photos.end


def answered(monkeypatch, capsys, photos, *arguments):
    """What the command prints for views that are measured by the tests' own numbers."""
    monkeypatch.setattr("service.commands.board_job.check_board", lambda given, settings: checked(photos))
    assert main(["board", "--end", str(photos.end), "--show", str(photos.show), *arguments]) == 0
    return capsys.readouterr().out


def test_an_overlay_of_all_photos_is_drawn_but_never_over_a_photo(tmp_path, photos, monkeypatch, capsys):
    path = tmp_path / "drawn.jpg"
    for _ in range(2):  # what we drew ourselves may be written over
        answered(monkeypatch, capsys, photos, "--overlay", str(path))
        assert path.read_bytes().startswith(b"\xff\xd8")
    arguments = ["board", "--end", str(photos.end), "--show", str(photos.show), "--overlay"]
    assert main([*arguments, str(photos.show)]) == 2
    assert "is a photo and would be overwritten" in capsys.readouterr().err
    assert main([*arguments, str(tmp_path / "drawn.pdf")]) == 2


def test_the_layout_review_goes_by_the_slopes_and_the_depth_that_the_faces_show(tmp_path, photos, monkeypatch, capsys):
    found = json.loads(answered(monkeypatch, capsys, photos, "--layout", "--json", "--data", str(tmp_path)))
    jsonschema.validate(found, SCHEMA)
    assert found["layout"]["slope"] == {"run_over_rise": pytest.approx(1 / 7, abs=5e-3), "source": "face"}
    assert found["layout"]["depth_mm"] == pytest.approx(16.0)
    # Three tails of 26 mm that lose six times 16 mm / 7, give or take half the twists (0.3 mm in all), of 108 mm.
    assert found["layout"]["section"]["share"] == pytest.approx((78.0 - 6 * 16.0 / 7) / 108.0, abs=0.3 / 108.0)
    text = answered(monkeypatch, capsys, photos, "--layout", "--data", str(tmp_path))
    assert "by the slopes measured on the face and a baseline 16.0 mm deep." in " ".join(text.split())
    assert max(map(len, text.splitlines())) <= 80


def test_a_plan_is_compared_at_the_end_and_at_the_baseline(tmp_path, photos, monkeypatch, capsys):
    made = ("--width", "108", "--thickness", "19", "--tails", "3", "--half-pin", "7", "--pin", "8", "--slope", "1:7")
    main(["plan", *made, "--depth", "15.5", "--name", "box", "--data", str(tmp_path)])
    capsys.readouterr()
    asked = ("--plan", "box", "--data", str(tmp_path))
    found = json.loads(answered(monkeypatch, capsys, photos, *asked, "--json"))
    jsonschema.validate(found, SCHEMA)
    assert found["plan"]["depth_off_mm"] == pytest.approx(0.5, abs=1e-4)  # rounded to four decimals
    ends = BOARD.corners[:, :2] - BOARD.corners[:, 1:2] + [[0.0, 0.0]]
    for wall, corners, at_end in zip(found["in_depth"]["walls"], BOARD.corners, ends, strict=True):
        plan = wall["plan"]
        # The walls meet the plan at the transfer face and run 1:7; what leans and twists is off at the show face.
        assert plan["off_show_mm"] == pytest.approx(at_end[0], abs=1e-3)
        assert plan["off_baseline_transfer_mm"] == pytest.approx(0.0, abs=1e-3)
        assert plan["off_baseline_show_mm"] == pytest.approx(corners[2] - corners[3], abs=1e-3)
    text = answered(monkeypatch, capsys, photos, *asked)
    assert "The baseline lies 0.50" in " ".join(text.split())
    assert "At the baseline, measured minus intended" in text
    assert max(map(len, text.splitlines())) <= 80


def test_a_plan_of_other_tails_is_told_and_nothing_is_compared_below(tmp_path, photos, monkeypatch, capsys):
    made = ("--width", "108", "--thickness", "19", "--tails", "2", "--half-pin", "7", "--pin", "8")
    main(["plan", *made, "--name", "two", "--data", str(tmp_path)])
    capsys.readouterr()
    asked = ("--plan", "two", "--data", str(tmp_path))
    found = json.loads(answered(monkeypatch, capsys, photos, *asked, "--json"))
    jsonschema.validate(found, SCHEMA)
    assert "depth_off_mm" not in found["plan"]
    assert "The plan has 2 tails, this end 3" in " ".join(answered(monkeypatch, capsys, photos, *asked).split())


def test_a_sketch_is_drawn_as_the_kind_of_file_that_its_name_says(tmp_path, photos, monkeypatch, capsys):
    monkeypatch.setattr("service.commands.board_job.check_board", lambda given, settings: checked(photos))
    arguments = ["board", "--end", str(photos.end), "--show", str(photos.show), "--sketch"]
    for name, starts in (("a.svg", b"<?xml"), ("a.png", b"\x89PNG"), ("a.pdf", b"%PDF")):
        assert main([*arguments, str(tmp_path / name)]) == 0
        assert main([*arguments, str(tmp_path / name)]) == 0  # the same again may be written over
        assert (tmp_path / name).read_bytes().startswith(starts)
    assert main([*arguments, str(tmp_path / "a.bmp")]) == 2
    assert main([*arguments, str(photos.show)]) == 2
    assert "is a photo and would be overwritten" in capsys.readouterr().err


def test_the_sample_board_agrees_with_its_truth_in_three_dimensions(capsys):
    folder = Path(__file__).parents[2] / "sample_images"
    names = {"end": "pine-sawn-pencil", "show": "pine-sawn-pencil-show", "transfer": "pine-sawn-pencil-transfer"}
    paths = {view: str(folder / f"{name}.jpg") for view, name in names.items()}
    assert main(["board", "--json", *(word for view, path in paths.items() for word in (f"--{view}", path))]) == 0
    value = json.loads(capsys.readouterr().out)
    jsonschema.validate(value, SCHEMA)
    assert value["agreement"]["doubt"] is None
    show, transfer = (json.loads((folder / f"{names[view]}.json").read_text()) for view in ("show", "transfer"))
    depth_mm = value["in_depth"]["board"]["baseline_depth_mm"]
    assert depth_mm == pytest.approx(mean_depth(show), abs=value["in_depth"]["board"]["u95_mm"])
    for wall, at_show, at_transfer in zip(value["in_depth"]["walls"], show["kerfs"], transfer["kerfs"], strict=True):
        sign = 1 if wall["side"] == "left" else -1
        for face, kerf in (("show", at_show), ("transfer", at_transfer)):
            true = [kerf["x_at_end"], kerf["x_at_end"] + sign * kerf["slope"] * depth_mm]
            found = [wall["x_mm"][f"{face}_end"], wall["x_mm"][f"{face}_baseline"]]
            # Half as far again as U, which one in two hundred sets of six walls exceeds.
            assert found == pytest.approx(true, abs=1.5 * wall["x_u95_mm"])
        run = [kerf["x_at_end"] + sign * kerf["slope"] * depth_mm for kerf in (at_show, at_transfer)]
        lean = math.degrees(math.atan((run[1] - run[0]) / show["board"]["thickness"]))
        # Twice U: what no wall of an honest board should exceed.
        assert wall["lean_baseline_deg"] == pytest.approx(lean, abs=2.0 * wall["lean_baseline_u95_deg"])


def mean_depth(truth):
    return (truth["baseline"]["depth_at_left"] + truth["baseline"]["depth_at_right"]) / 2.0
