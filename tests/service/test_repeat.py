"""`tailproof repeat`: what belongs in a study, what is said of it, and the table that needs no photos."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from calibration.outcome import refuse
from service.answers.repeat_text import format_amount
from service.cli import main
from service.measuring import checking
from service.measuring.checking import CheckSettings
from service.measuring.repeat_folder import ONE_PERSON, find_shots
from service.measuring.repeat_measure import measure_shots
from service.measuring.repeat_values import Value, from_csv, to_csv
from tests.vision.photos import TIGHT_AND_LOOSE, encoded, measurement, picture
from vision.end.report import Measurement
from vision.photo.photo import Photo

Capture = pytest.CaptureFixture[str]

NOISE_MM = 0.01
SHIFT_MM = {"ash": 0.1, "elm": -0.2}
"""What each board's first wall reaches into its socket beyond `TIGHT_AND_LOOSE`, mm."""

JPEG = encoded(picture(), "JPEG")


@pytest.fixture(autouse=True)
def core(monkeypatch: pytest.MonkeyPatch) -> None:
    """A measuring core that the photo's name commands: `ash-3.jpg` is board ash with the noise of seed 3."""

    def measure(image: Photo, **unused: object) -> Measurement:
        board, seed = image.name.removesuffix(".jpg").split("-")
        if board == "fault":
            raise ZeroDivisionError("on purpose")
        if board == "cardless":
            raise refuse("no_card")
        if board == "short":
            return measurement(TIGHT_AND_LOOSE[:4])
        into = np.array(TIGHT_AND_LOOSE) + np.random.default_rng(int(seed)).normal(0.0, NOISE_MM, 6)
        into[0] += SHIFT_MM.get(board, 0.0)
        return measurement(tuple(into))

    monkeypatch.setattr("service.measuring.checking.measure_end", measure)


@pytest.fixture
def study(tmp_path: Path) -> Path:
    """Two boards, two people, two photos each."""
    for number, (board, person, shot) in enumerate(np.ndindex(2, 2, 2)):
        name = ("ash", "elm")[board]
        add(tmp_path / name / ("Ada", "Bert")[person] / f"{name}-{number}{shot}.jpg")
    return tmp_path


def add(path: Path) -> Path:
    """A photo unlike every other, byte for byte, as two photos always are."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(JPEG + str(path).encode())
    return path


def run(*arguments: str | Path) -> int:
    return main(["repeat", *map(str, arguments)])


def complaint(capsys: Capture, *arguments: str | Path) -> str:
    assert run(*arguments) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    return captured.err


def test_the_study_is_told_to_people(study: Path, capsys: Capture) -> None:
    assert run(study) == 0
    captured = capsys.readouterr()
    assert "Lean of a wall: 12 parts, by Ada, Bert, 48 readings" in captured.out
    assert "Taper of a socket: 4 parts" in captured.out
    assert "Taper at a half pin: 4 parts" in captured.out
    assert "differ by less than" in captured.out
    assert "Of the gap limit of 0.10 mm measuring takes up" in captured.out
    assert "Left out" not in captured.out
    assert "unequal counts" not in captured.out
    assert "[8/8] elm/Bert/elm-71.jpg" in captured.err
    assert max(map(len, captured.out.splitlines())) <= 80


def test_the_analysis_of_variance_is_added_on_demand_and_fits_a_terminal(study: Path, capsys: Capture) -> None:
    assert run(study, "--explain") == 0
    out = capsys.readouterr().out
    assert "Lean of a wall: analysis of variance" in out
    assert "between people" in out
    assert max(map(len, out.splitlines())) <= 80


def test_the_study_as_json_finds_the_noise_that_was_put_in(study: Path, capsys: Capture) -> None:
    assert run(study, "--json") == 0
    result = json.loads(capsys.readouterr().out)
    taper = {each["quantity"]: each for each in result["studies"]}["taper"]
    assert (taper["parts"], taper["persons"], taper["readings"], taper["balanced"]) == (4, ["Ada", "Bert"], 16, True)
    ratio = taper["parts_spread"]["sd"] / taper["gauge"]["sd"]
    # A taper sums two walls' noise; 12 degrees of freedom know it to 20 %, three times that.
    assert taper["gauge"]["sd"] == pytest.approx(NOISE_MM * np.sqrt(2.0), rel=0.6)
    assert taper["percent_of_limit"]["gap"] == pytest.approx(100 * taper["gauge"]["u95"] / 0.10)
    assert taper["percent_of_limit"]["squeeze"] == pytest.approx(100 * taper["gauge"]["u95"] / 0.08)
    assert taper["percent_of_tolerance"] == pytest.approx(100 * 6 * taper["gauge"]["sd"] / (0.10 + 0.08))
    assert taper["distinct_categories"] == pytest.approx(np.sqrt(2.0) * ratio, rel=0.01)
    assert [row["factor"] for row in taper["anova"]][-1] == "error"
    assert result["left_out"] == []


def test_limits_follow_the_class_and_the_wood(study: Path, capsys: Capture) -> None:
    assert run(study, "--json", "--gap-limit", "0.2", "--species", "pine") == 0
    studies = {each["quantity"]: each for each in json.loads(capsys.readouterr().out)["studies"]}
    u95 = studies["half-pin taper"]["gauge"]["u95"]
    expected = {"gap": 100 * u95 / 0.2, "squeeze": 100 * u95 / 0.075}
    assert studies["half-pin taper"]["percent_of_limit"] == pytest.approx(expected)


def test_the_saved_table_carries_the_same_study(study: Path, tmp_path: Path, capsys: Capture) -> None:
    table = tmp_path / "values.csv"
    assert run(study, "--save-csv", table, "--json") == 0
    measured = json.loads(capsys.readouterr().out)
    assert run("--csv", table, "--json") == 0
    again = json.loads(capsys.readouterr().out)
    for one, other in zip(measured["studies"], again["studies"], strict=True):
        # The table keeps six decimals.
        assert one["gauge"]["sd"] == pytest.approx(other["gauge"]["sd"], abs=1e-6)
        assert one["claimed_u95"] == pytest.approx(other["claimed_u95"], abs=1e-6)
        assert (one["parts"], one["readings"]) == (other["parts"], other["readings"])


def test_photos_without_folders_for_people_are_one_persons(tmp_path: Path, capsys: Capture) -> None:
    for seed in range(3):
        add(tmp_path / "ash" / f"ash-{seed}.jpg")
    assert {shot.person for shot in find_shots(tmp_path)} == {ONE_PERSON}
    assert run(tmp_path, "--json") == 0
    lean = json.loads(capsys.readouterr().out)["studies"][0]
    assert lean["reproducibility"] is None
    assert lean["gauge"] == lean["repeatability"]
    assert run(tmp_path) == 0
    assert "different people" not in capsys.readouterr().out


def test_a_refused_photo_is_named_and_the_rest_studied(study: Path, capsys: Capture) -> None:
    add(study / "ash" / "Ada" / "cardless-1.jpg")
    (study / "elm" / "Bert" / "elm-71.jpg").unlink()
    assert run(study) == 3
    out = capsys.readouterr().out
    assert "- ash/Ada/cardless-1.jpg: No card was found in the photo." in out
    assert "in an analysis of variance for unequal counts" in " ".join(out.split())


def test_a_fault_is_told_and_ends_with_one(study: Path, capsys: Capture) -> None:
    add(study / "ash" / "Ada" / "fault-1.jpg")
    assert run(study) == 1
    captured = capsys.readouterr()
    assert "fault-1.jpg: a fault in the program" in captured.err
    assert "Traceback" not in captured.err
    assert "ash/Ada/fault-1.jpg" in captured.out


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("short-1.jpg", "4 walls were found, in the board's other photos 6."),
        ("elm-9.jpg", None),
    ],
)
def test_a_photo_with_another_number_of_walls_is_left_out_by_name(
    study: Path, name: str, why: str | None, capsys: Capture
) -> None:
    add(study / "ash" / "Bert" / name)
    assert run(study, "--json") == (3 if why else 0)
    left_out = json.loads(capsys.readouterr().out)["left_out"]
    assert left_out == ([{"photo": f"ash/Bert/{name}", "why": why}] if why else [])


def test_where_photos_disagree_one_to_one_the_board_is_left_out(tmp_path: Path) -> None:
    shots = [add(tmp_path / "ash" / name) for name in ("ash-1.jpg", "short-1.jpg")]
    measured = measure_shots(find_shots(tmp_path), CheckSettings())
    assert measured.values == ()
    assert [each.photo for each in measured.left_out] == [f"ash/{shot.name}" for shot in shots]
    assert "4 and 6 walls" in measured.left_out[0].why


def test_a_photo_of_another_board_is_told_by_where_its_walls_stand(
    study: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    add(study / "ash" / "Bert" / "elm-9.jpg")
    inner = checking.measure_end
    moved = (1.5, *TIGHT_AND_LOOSE[1:])
    monkeypatch.setattr(
        "service.measuring.checking.measure_end",
        lambda image, **known: measurement(moved) if image.name == "elm-9.jpg" else inner(image, **known),
    )
    assert run(study, "--json") == 3
    (left_out,) = json.loads(capsys.readouterr().out)["left_out"]
    assert left_out["photo"] == "ash/Bert/elm-9.jpg"
    assert "another board" in left_out["why"]


def test_the_same_file_twice_is_no_repetition(study: Path, capsys: Capture) -> None:
    photo = study / "ash" / "Ada" / "ash-00.jpg"
    (study / "ash" / "Bert" / "copy-1.jpg").write_bytes(photo.read_bytes())
    assert run(study, "--json") == 3
    (left_out,) = json.loads(capsys.readouterr().out)["left_out"]
    assert left_out["photo"] == "ash/Bert/copy-1.jpg"
    assert "same file as ash/Ada/ash-00.jpg" in left_out["why"]


@pytest.mark.parametrize(
    ("photos", "said"),
    [
        (["ash-1.jpg"], "not in the folder of a board"),
        (["ash/ash-1.jpg", "ash/Ada/ash-2.jpg"], "whose are they?"),
        (["ash/Ada/today/ash-1.jpg"], "one folder too deep"),
        (["ash/Ada/ash-1.jpg", "elm/elm-1.jpg"], "give every board the same"),
        ([], "there is no photo"),
    ],
)
def test_another_layout_is_explained(tmp_path: Path, photos: list[str], said: str, capsys: Capture) -> None:
    for photo in photos:
        add(tmp_path / photo)
    told = complaint(capsys, tmp_path)
    assert said in told
    assert "FOLDER/BOARD/PERSON/photo.jpg" in told


def test_other_files_and_hidden_folders_do_not_matter(study: Path) -> None:
    count = len(find_shots(study))
    (study / "ash" / "notes.txt").write_text("sawn on Monday")
    (study / "elm" / "Ada" / "ash-1.txt").write_text("blurred?")
    add(study / ".trash" / "Ada" / "ash-8.jpg")
    assert len(find_shots(study)) == count


def test_a_folder_that_is_not_there_is_told(tmp_path: Path, capsys: Capture) -> None:
    assert "there is no folder" in complaint(capsys, tmp_path / "nowhere")


def test_too_few_photos_are_told_with_what_was_left_out(tmp_path: Path, capsys: Capture) -> None:
    add(tmp_path / "ash" / "Ada" / "ash-1.jpg")
    add(tmp_path / "ash" / "Bert" / "ash-2.jpg")
    add(tmp_path / "ash" / "Bert" / "cardless-2.jpg")
    told = complaint(capsys, tmp_path)
    assert "nobody measured a part twice" in told
    assert "ash/Bert/cardless-2.jpg: No card" in told


@pytest.mark.parametrize("both", [True, False])
def test_either_a_folder_or_a_table_is_asked_for(study: Path, both: bool, capsys: Capture) -> None:
    arguments = (study, "--csv", study / "values.csv") if both else ()
    assert "--csv" in complaint(capsys, *arguments)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("part,value\na,1\n", "no column 'person'"),
        ("person,part,value\n", "no lines"),
        ("person,part,value\nAda,a,\n", "line 2 has no value"),
        ("person,part,value\nAda,a,1\nAda,,1\n", "line 3 does not say which part"),
        ('person,part,value\nAda,a,"0,13"\n', "use a decimal point"),
        ("person,part,value\nAda,a,inf\n", "line 2: value is 'inf'"),
        ("person,part,value,u95\nAda,a,1,-1\n", "line 2: u95 is '-1'"),
    ],
)
def test_a_table_that_cannot_be_read_is_told_by_its_line(tmp_path: Path, text: str, said: str, capsys: Capture) -> None:
    table = tmp_path / "values.csv"
    table.write_text(text)
    assert said in complaint(capsys, "--csv", table)


@pytest.mark.parametrize("content", [None, b"\xff\xd8\xff\xe0 a photo"])
def test_a_table_that_is_none_is_told(tmp_path: Path, content: bytes | None, capsys: Capture) -> None:
    table = tmp_path / "values.csv"
    if content:
        table.write_bytes(content)
    assert "values.csv" in complaint(capsys, "--csv", table)


def test_a_table_of_ones_own_needs_three_columns(tmp_path: Path, capsys: Capture) -> None:
    rows = [f"{person},{part},{part + trial / 10}" for person in "xy" for part in range(4) for trial in range(2)]
    table = tmp_path / "caliper.csv"
    table.write_text("\ufeff" + "\n".join(["person,part,value", *rows]), encoding="utf-8")
    assert run("--csv", table) == 0
    assert "Value: 4 parts, by x, y, 16 readings" in capsys.readouterr().out


def test_values_that_repeat_exactly_make_json_that_any_program_reads(tmp_path: Path, capsys: Capture) -> None:
    rows = [f"{person},{part},{part},0.1,0.1" for person in "xy" for part in range(4) for _ in range(2)]
    table = tmp_path / "caliper.csv"
    table.write_text("\n".join(["person,part,value,u95,u95_photo", *rows]), encoding="utf-8")
    assert run("--csv", table, "--json") == 0
    told = json.loads(capsys.readouterr().out, parse_constant=lambda word: pytest.fail(f"{word} is no JSON"))
    (study,) = told["studies"]
    assert study["realised_over_claimed"] == [0.0, 0.0, None]
    assert study["distinct_categories"] is None


def test_values_survive_the_table_exactly_enough() -> None:
    values = [
        Value("ash", "Ada, the elder", 'a "b".jpg', "lean", "tail 1 left", "deg", -0.1234567, 0.05, 0.04),
        Value("", "Bert", "line 3", "value", "2", "", 1.0),
    ]
    first, second = from_csv(to_csv(values))
    assert first.value == pytest.approx(-0.1234567, abs=5e-7)  # six decimals
    assert (first.person, first.photo, first.u95, first.u95_photo) == ("Ada, the elder", 'a "b".jpg', 0.05, 0.04)
    assert second == values[1]


def test_a_reading_is_as_uncertain_as_half_of_what_its_photo_adds_to_u() -> None:
    (value,) = from_csv("person,part,value,u95,u95_photo\nAda,1,0.1,0.5,0.3\n")
    assert value.reading.u == pytest.approx(0.15)


def test_a_table_with_a_quotation_mark_too_few_is_a_mistake_and_no_fault(tmp_path: Path, capsys: Capture) -> None:
    table = tmp_path / "caliper.csv"
    table.write_text('person,part,value\nx,1,1.0\n"x,2,1.0\n' + "y,1,1.0\n" * 20_000)
    assert "is a quotation mark missing?" in complaint(capsys, "--csv", table)


def test_a_photo_is_never_overwritten_by_the_table(study: Path, capsys: Capture) -> None:
    photo = study / "ash" / "Ada" / "ash-00.jpg"
    assert "is a photo and would be overwritten" in complaint(capsys, study, "--save-csv", photo)


@pytest.mark.parametrize(
    ("amount", "like", "shown"),
    [
        (0.0623, None, "0.062°"),
        (12.34, None, "12°"),
        (0.0, None, "0.00°"),
        (0.0123, 0.23, "0.01°"),
        (1e-9, None, "0.0000°"),
    ],
)
def test_amounts_have_two_figures(amount: float, like: float | None, shown: str) -> None:
    assert format_amount(amount, "deg", like) == shown
