"""Why a photo cannot be measured, and what is doubtful about one that can: each defined once.

Everything people read about a refusal, a warning or a flag comes from these tables: the terminal, the JSON, the pages
and the documentation.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple


class Kind(NamedTuple):
    """One refusal, warning or flag: its short name, a sentence for people, and what to do about it."""

    reason: str
    message: str
    what_to_do: str


@dataclass(frozen=True)
class Refusal:
    """A photo that cannot be measured, in words a student can act on."""

    reason: str
    message: str
    what_to_do: str

    def to_dict(self) -> dict[str, str]:
        """The `refusal` object of the result JSON."""
        return {"reason": self.reason, "message": self.message, "what_to_do": self.what_to_do}


class CannotMeasure(Exception):  # noqa: N818 - it carries a refusal, it is not an error of the program
    """Raised inside the measuring steps; the public entry points return its `refusal` instead of raising."""

    def __init__(self, refusal: Refusal) -> None:
        super().__init__(refusal.message)
        self.refusal = refusal


def refuse(reason: str, detail: str = "") -> CannotMeasure:
    """The exception for one of `REFUSALS`; `detail` (a sentence) is added to its message. KeyError if unknown."""
    kind = REFUSALS[reason]
    message = f"{kind.message} {detail}".strip()
    return CannotMeasure(Refusal(kind.reason, message, kind.what_to_do))


def _table(*kinds: Kind) -> dict[str, Kind]:
    return {kind.reason: kind for kind in kinds}


REFUSALS = _table(
    Kind("unreadable_file", "The file could not be read.", "Check that it exists and that you may open it."),
    Kind(
        "not_an_image",
        "The file is not a photo this program can open.",
        "Send the photo as the phone saved it: JPEG, HEIC, PNG, WebP or TIFF.",
    ),
    Kind(
        "image_too_large",
        "The photo is larger than the program accepts.",
        "Take it at the phone's normal size: up to 50 megapixels and 64 MB.",
    ),
    Kind(
        "image_too_small",
        "The photo has too few pixels to measure a saw cut.",
        "Send the original from the phone, not a preview or a screenshot.",
    ),
    Kind(
        "no_card",
        "No card was found in the photo.",
        "Lay the printed card beside the end, whole and in the light, and photograph both together.",
    ),
    Kind(
        "photo_mirrored",
        "The photo is mirrored: left and right are swapped.",
        "Switch mirroring off in the camera's settings (front cameras do it), or mirror the photo back, and send that.",
    ),
    Kind(
        "other_card",
        "The card in the photo is not one of ours.",
        "Print the short or the long card with `tailproof card`, at 100 %, and use that.",
    ),
    Kind(
        "two_cards",
        "The same card is in the photo twice.",
        "Leave one card in the picture, beside the end, and send each photo by itself, not several put together.",
    ),
    Kind(
        "other_camera",
        "The camera profile that was asked for does not hold for this photo.",
        "Leave out `--camera`, or name a profile made with this phone, lens, zoom and picture size.",
    ),
    Kind(
        "too_few_corners",
        "Too little of the card can be seen.",
        "Uncover the card, wipe the dust off it and keep all of it in the picture.",
    ),
    Kind(
        "card_too_small",
        "The card is too small in the picture to measure from.",
        "Come closer, or use the 2x lens, until card and end fill most of the picture.",
    ),
    Kind(
        "out_of_focus",
        "The photo is not sharp: out of focus, or shaken.",
        "Tap on the end to focus, rest your elbows or the phone on something, and take it again.",
    ),
    Kind(
        "card_bent",
        "The card is bent or wrinkled: its corners are far from one plane.",
        "Glue it all over to a flat block, without wrinkles, and take another photo.",
    ),
    Kind(
        "card_out_of_shape",
        "The card in the photo is stretched or askew, by more than printers do.",
        "Send the photo as the phone took it, not stretched and no photo of a picture. If the print itself is out of"
        " shape, measure it with `tailproof print-check`.",
    ),
    Kind("too_dark", "The photo is too dark.", "Turn on a lamp or move to a window, and take it again."),
    Kind(
        "burnt_out",
        "The photo is burnt out: the brightest parts have lost their detail.",
        "Turn the lamp away or tap on the white of the card so that the phone exposes for it, and take it again.",
    ),
    Kind(
        "too_oblique",
        "The camera looks at the card too much from the side.",
        "Hold the phone straight above the end, looking down the length of the board, and take it again.",
    ),
    Kind(
        "no_board_end",
        "No board's end was found beside the card.",
        "Put the end along the long edge of the card that the arrow points to, close to it, and photograph both.",
    ),
    Kind(
        "end_cut_off",
        "The end of the board runs out of the picture.",
        "Step back a little so that the whole end and the whole card are in the picture.",
    ),
    Kind(
        "no_kerfs",
        "No saw cuts were found in the end.",
        "Check that this is the tail board, that the sawn end is up, and that sawdust is brushed from the cuts.",
    ),
    Kind(
        "kerfs_do_not_pair",
        "The saw cuts do not make up whole tails: every tail has one on its left and one on its right.",
        "Brush the end clean and check that no cut is missing and that no dark line could pass for one.",
    ),
    Kind(
        "slopes_of_a_face",
        "Walls lean to both sides by more than saw cuts across an end do: tails slope like that on a face.",
        "Have a photo of a face checked as one. Of the end, take another from straight above, the card along its edge.",
    ),
    Kind(
        "narrow_socket",
        "A socket is too narrow to be measured: it has no cut of its own on either side.",
        "Look at its walls with a square, and ask your instructor. If no socket is meant to be there, brush the end"
        " clean or plane off what is drawn there, and take another photo.",
    ),
    Kind(
        "stage_contradicted",
        "The photo shows the board at the other stage than it was told to be.",
        "Look whether the waste is still in and tell that, or leave it to the program to see.",
    ),
    Kind(
        "told_walls_unusable",
        "The walls as they were placed by hand do not make up whole tails.",
        "Place every line on its own wall, from the show face to the transfer face: two to each tail, left and right.",
    ),
    Kind(
        "cuts_told_otherwise",
        "The photo shows other practice cuts than were told of.",
        "Look how many cuts the photo shows. Tell order, leans and sides for as many of them, one for all, or two that"
        " take turns.",
    ),
    Kind(
        "card_not_in_plane",
        "The card does not lie in the plane of the end.",
        "Set block and board end-down together on a flat surface, clamp them to each other, turn the pair over,"
        " and take the photo again.",
    ),
    Kind(
        "no_face",
        "No sawn face of a board was found where the card lies.",
        "Lay the card flat on the face below the baseline, its bottom edge toward the sawn end; take both from above.",
    ),
    Kind(
        "no_baseline",
        "No baseline was found across the face.",
        "Scribe or draw the baseline across the whole face, keep the card below it, and take the photo again.",
    ),
    Kind(
        "no_kerfs_on_face",
        "No saw cuts were found on the face.",
        "Check that this is the sawn end of the tail board, and that sawdust is brushed from the cuts.",
    ),
    Kind(
        "photo_given_twice",
        "This photo was given before.",
        "Take another one, best with the card set up anew: a copy tells nothing more.",
    ),
    Kind(
        "photos_not_one_end",
        "The photos do not show one and the same end.",
        "Give photos of one end only, all at the same stage, and check without `--same-end` what each of them shows.",
    ),
    Kind(
        "views_not_one_board",
        "End and faces do not show the same saw cuts.",
        "Give photos of one board, and check each of them alone to see what it shows.",
    ),
)

WARNINGS = _table(
    Kind(
        "width_from_shoulders",
        "With the waste removed the board's corners are gone; its width is estimated from the shoulders below.",
        "Half-pin widths are less certain than the rest; tapers do not depend on it.",
    ),
    Kind(
        "wide_pin",
        "A pin would be as wide as the tails beside it: a cut may have been missed, or one cut serves two tails.",
        "Look at the drawing. If a cut has no line there, what is told of that pin is wrong: take another photo.",
    ),
    Kind(
        "mark_in_tail",
        "A dark mark as wide as a saw cut runs across a tail from face to face; it was taken for a drawn line.",
        "If it is a socket too narrow for a cut on either side, its walls were not measured: look at them with a"
        " square.",
    ),
    Kind(
        "side_doubtful",
        "A side of the board hardly stands out from what lies around it.",
        "Lay paper of another colour under or behind the board; the widths of half pins are uncertain, leans are not.",
    ),
    Kind(
        "card_not_flat",
        "The card does not lie flat: its corners do not fit one plane.",
        "Glue it all over to a flat block, without wrinkles, and take another photo.",
    ),
    Kind(
        "card_tilt_suspected",
        "The faces or the walls hint that card and end are not quite parallel.",
        "Set card and board end-down together on a flat surface, clamp, turn over, and take another photo.",
    ),
    Kind(
        "card_lie_dominates",
        "How the card lies against the end is what makes these figures uncertain.",
        "Set card and board up anew, flush and parallel, or hold the phone farther away and use the 2x lens.",
    ),
    Kind(
        "told_size_doubted",
        "A size of the board that you gave does not fit the photo; it was left out.",
        "Measure the board at this end again, and check that the card was printed at 100 %.",
    ),
    Kind(
        "print_doubtful",
        "The card in the photo does not have the shape that is known of its print.",
        "Measure this print with `tailproof print-check`, or name the right one with `--print`.",
    ),
    Kind(
        "slanted",
        "The camera looks at the end from the side.",
        "Hold the phone straight above the end: the figures would be more certain.",
    ),
    Kind("soft_photo", "The photo is a little soft.", "A sharper photo would make the figures more certain."),
    Kind(
        "coarse_scale",
        "The end is small in the picture.",
        "Come closer or use the 2x lens: the figures would be more certain.",
    ),
    Kind("part_of_card_hidden", "Part of the card is hidden.", "Uncover it: the figures would be more certain."),
    Kind(
        "other_lens_guess",
        "The photo does not say which lens took it.",
        "Send the photo as the phone saved it, with its own data, not through a messenger.",
    ),
    Kind(
        "photo_cut",
        "Part of the photo seems to have been cut away: what its lens does is then uncertain.",
        "Send the whole photo as the phone took it: the figures would be more certain.",
    ),
    Kind(
        "camera_profile_misfit",
        "The card in this photo contradicts the camera profile, which was not used.",
        "See that lens and zoom are those of the profile, or make a new one with `tailproof camera`.",
    ),
    Kind(
        "photos_disagree",
        "The photos do not agree, and nothing tells which of them is wrong.",
        "Take one or two more: of three, the odd one can be told. Until then U reaches as far as they differ.",
    ),
    Kind(
        "photo_left_out",
        "A photo that does not agree with the others was left out.",
        "Look what is different in it: light, focus, dust, or the card.",
    ),
)

FLAGS = _table(
    Kind("tear_out", "Part of this wall is torn or chipped.", "The torn stretch was left out of the line."),
    Kind("line_beside", "A drawn or knifed line runs beside this wall.", "The wall was measured, not the line."),
    Kind("rough", "This wall is rough.", "A sharper photo, or a finer saw, would make it more certain."),
    Kind(
        "faint_edge",
        "This wall hardly stands out from what lies behind it.",
        "Light it from the other side and take another photo.",
    ),
    Kind(
        "placed_by_hand",
        "A person placed this line on the photo.",
        "It is as good as the eye and the hand that placed it; a better photo may not need it.",
    ),
)
