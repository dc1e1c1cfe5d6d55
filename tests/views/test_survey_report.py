"""The survey in plain sentences: what they say follows from what was found, in metric and in US units."""

from __future__ import annotations

from dataclasses import replace

import pytest

from moldkit.pattern.survey.results import Neck, Piece, Pull, Survey, Trap
from moldkit.views.survey_report import Rubber, finding, survey_report
from moldkit.views.survey_words import length_words
from tests.views.surveys import SILICONE, a_survey

NO_BREAK = "\u00a0"


def words(survey: Survey, about: str, **how: object) -> str:
    said = {each.about: each.words for each in survey_report(survey, **how)}  # type: ignore[arg-type]
    return said[about].replace(NO_BREAK, " ")


def pulled(**changes: object) -> Survey:
    survey = a_survey()
    return replace(survey, pull=replace(survey.pull, **changes))  # type: ignore[arg-type]


def test_it_says_how_the_halves_leave_and_how_much_they_free() -> None:
    said = words(a_survey(), "Pull")
    assert "to the front and to the back" in said
    assert "free 93 % of the surface" in said
    assert "The parting line is 710 mm long" in said


@pytest.mark.parametrize(
    ("axis", "where"),
    [
        ((0.0, 0.0, 1.0), "up and down"),
        ((-1.0, 0.0, 0.0), "to the left and to the right"),
        ((0.5, 0.8660254, 0.0), "to the front and to the back, turned 30° clockwise"),
        ((-0.5, 0.8660254, 0.0), "to the front and to the back, turned 30° counterclockwise"),
        ((0.8660254, 0.5, 0.0), "to the left and to the right, turned 30° counterclockwise"),
        ((0.0, 0.6, 0.8), "leans 37° from upright"),
    ],
)
def test_an_axis_is_told_as_one_stands_before_the_pattern(axis: tuple[float, float, float], where: str) -> None:
    assert where in words(pulled(axis=axis), "Pull")
    opposite = tuple(-along for along in axis)
    assert where in words(pulled(axis=opposite), "Pull")


def test_a_pattern_that_one_piece_frees_draws_straight_up() -> None:
    one = (Piece((0.0, 0.0, 1.0), 1.0),)
    lifted = pulled(pieces=one, soft_pieces=one, visible_up=0.998, grade="none")
    assert words(lifted, "Pull") == "It draws straight up in one piece, which frees 99.8 % of the surface."
    assert words(lifted, "Undercuts") == "None: nothing hooks but scratches."
    assert words(lifted, "Pieces") == "One piece does, rigid or soft."


def test_rigid_and_soft_pieces_are_counted_and_what_none_frees_is_said() -> None:
    said = words(a_survey(), "Pieces")
    assert said.startswith("A rigid mold takes three pieces (leaving back, front and up)")
    assert "rubber that gives way by 40 % takes two pieces" in said
    assert "2 % of the surface no straight pull frees" in said


def test_peeling_is_judged_by_half_of_the_rubbers_stretch_at_break() -> None:
    # The neck of the hand-made survey: 0.31 m over 0.20 m is 55 % more.
    assert "stretch by 55 %" in words(a_survey(), "Peeling off")
    assert words(a_survey(), "Peeling off", rubber=Rubber("soft rubber", 1.12)).endswith("so it peels off.")
    assert "wants a cut or another piece" in words(a_survey(), "Peeling off", rubber=Rubber("stiff rubber", 1.08))
    said = words(a_survey(), "Peeling off", rubber=SILICONE)
    assert "platinum silicone (slow) breaks at 400 % and half of that is used" in said


def test_holes_that_a_skin_closes_round_are_told_even_where_it_need_not_stretch() -> None:
    survey = a_survey()
    ring = replace(survey, peel=replace(survey.peel, necks=(), loops=2))
    assert words(ring, "Peeling off") == (
        "A one-piece skin slides off without stretching. "
        "A skin closes round two holes or handles and has to be cut there."
    )


def test_air_under_the_pattern_and_in_the_casting_are_told_apart() -> None:
    survey = a_survey()
    assert "leaves air under it in two places, up to 12 mm deep" in words(survey, "Air in the rubber")
    casting = words(survey, "Air in the casting")
    assert casting.startswith("Cast it upside down, base uppermost: it is poured into the open base")
    assert "one place wants a vent, or air of up to 6 mm stays" in casting
    assert "The head is 180 mm" in casting


def test_with_a_closed_mold_the_spout_takes_the_highest_top_and_its_air_does_not_count() -> None:
    survey = a_survey()
    tops = (Trap((0, 0, 0.18), 0.09, 1e-4, False), Trap((0, 0.01, 0.1), 0.004, 1e-4, False))
    way = replace(
        survey.air.casting, up=(0.0, 0.0, 1.0), open_top=False, tops=tops, spout=tops[0].at, vents=(tops[1].at,)
    )
    said = words(replace(survey, air=replace(survey.air, casting=way)), "Air in the casting")
    assert "through a spout at its top" in said
    assert "air of up to 4 mm stays" in said


def test_a_thin_place_is_called_one_that_breaks() -> None:
    survey = a_survey()
    assert "breaks easily" not in words(survey, "Walls")
    assert "breaks easily" in words(survey, "Walls", scale=0.5)


def test_heights_are_told_only_where_the_ground_is_known() -> None:
    assert words(a_survey(), "Walls") == "The pattern is thinnest at 4 mm."
    assert words(a_survey(), "Walls", bottom=-0.02) == "The pattern is thinnest at 4 mm, 110 mm up."


def test_lengths_grow_with_the_scale_and_areas_with_its_square() -> None:
    assert "31 cm²" in words(a_survey(), "Undercuts")
    assert "279 cm²" in words(a_survey(), "Undercuts", scale=3.0)
    assert "13 mm deep" in words(a_survey(), "Undercuts", scale=3.0)


def test_in_us_units_there_is_no_millimetre() -> None:
    for each in survey_report(a_survey(), system="us", rubber=SILICONE, bottom=0.0):
        assert " mm" not in each.words.replace(NO_BREAK, " "), each
    assert "28 in long" in words(a_survey(), "Pull", system="us")


def test_the_same_survey_read_twice_says_the_same_over_the_view_as_in_the_report() -> None:
    survey = a_survey()
    report = {each.about: each.words for each in survey_report(survey)}
    assert finding(survey, "air casting") == report["Air in the casting"]
    assert finding(survey, "air standing") == report["Air in the rubber"]
    assert finding(survey, "undercut").lower().endswith(report["Undercuts"].lower())


@pytest.mark.parametrize(
    ("metres", "metric", "us"),
    [
        (0.00042, "0.4 mm", "0.017 in"),
        (0.0042, "4.2 mm", "0.17 in"),
        (0.00996, "10 mm", "0.39 in"),
        (0.0254, "25 mm", "1 in"),
        (0.4445, "444 mm", "17.5 in"),
        (1.2345, "1.23 m", "48.6 in"),
    ],
)
def test_lengths_read_as_off_a_rule(metres: float, metric: str, us: str) -> None:
    assert length_words(metres, "metric").replace(NO_BREAK, " ") == metric
    assert length_words(metres, "us").replace(NO_BREAK, " ") == us


def test_no_share_is_called_all_or_nothing_that_is_not() -> None:
    assert "free 99.6 %" in words(pulled(visible=0.996), "Pull")
    assert "free 100 %" in words(pulled(visible=1.0), "Pull")
    left = pulled(pieces=(Piece((0, 1, 0), 0.5), Piece((0, -1, 0), 0.493)))
    assert "0.7 % of the surface no straight pull frees" in words(left, "Pieces")


def test_the_worst_neck_is_the_one_that_is_told() -> None:
    survey = a_survey()
    worst = Neck((0, 0, 0.1), 0.1, 0.1, 0.3)
    said = words(replace(survey, peel=replace(survey.peel, necks=(worst, *survey.peel.necks))), "Peeling off")
    assert "stretch by 200 %" in said
    assert "100 mm from the end it leaves by" in said


def test_a_pull_without_a_grade_of_none_never_says_that_nothing_hooks() -> None:
    hooks: Pull = a_survey().pull
    assert hooks.grade == "moderate"
    assert "nothing hooks" not in words(a_survey(), "Undercuts")
