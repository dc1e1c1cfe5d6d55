"""The pattern in three dimensions and from three sides, as figures: what is drawn, in which colours and units."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import numpy as np
import plotly.graph_objects as go
import pytest

from moldkit.pattern.survey.results import Piece
from moldkit.views.flat_view import WITHOUT_3D, flat_view
from moldkit.views.painter import painted
from moldkit.views.pattern_colours import COLOURINGS, PLAIN, colour_scale, face_colours, scale_end, stops
from moldkit.views.pattern_view import pattern_view
from moldkit.views.widgets.encoding import settled
from tests.views.surveys import a_picture, a_survey


def view(colouring: str = "undercut", **how: Any) -> dict[str, Any]:
    given = {"stands_on_base": True, **how}
    return pattern_view(a_picture(), a_survey(), colouring, **given)  # type: ignore[arg-type]


def named(figure: dict[str, Any], name: str) -> list[dict[str, Any]]:
    return [trace for trace in figure["data"] if trace.get("name") == name]


@pytest.mark.parametrize("colouring", COLOURINGS)
@pytest.mark.parametrize("system", ["metric", "us"])
def test_every_figure_is_one_that_the_chart_library_takes(colouring: str, system: str) -> None:
    go.Figure(view(colouring, system=system))
    go.Figure(flat_view(a_picture(), a_survey(), colouring, system=system))  # type: ignore[arg-type]


def test_the_surface_is_drawn_in_the_unit_shown_and_at_the_size_asked_for() -> None:
    (surface,) = named(view(scale=2.0), "Undercuts")
    assert np.ptp(surface["z"]) == pytest.approx(360.0)
    assert surface["intensity"].max() == pytest.approx(2 * 10.0)
    (inches,) = named(view(system="us"), "Undercuts")
    assert np.ptp(inches["z"]) == pytest.approx(180.0 / 25.4, rel=1e-6)
    assert inches["colorbar"]["title"]["text"].endswith(", in")


def test_each_colouring_shows_its_own_figures_and_says_so_on_the_bar() -> None:
    picture = a_picture()
    shown = {"undercut": picture.undercut, "skin": picture.skin, "air casting": picture.air_casting}
    for colouring, figures in shown.items():
        surface = view(colouring)["data"][0]
        assert surface["intensity"] == pytest.approx(1e3 * figures)
        assert surface["showscale"] and surface["colorbar"]["title"]["text"].endswith(", mm")
    assert not view("air standing")["data"][0]["showscale"], "nothing is coloured, so no bar"


def test_axes_are_equal() -> None:
    scene = view()["layout"]["scene"]
    spans = {axis: np.ptp(scene[f"{axis}axis"]["range"]) for axis in "xyz"}
    ratio = scene["aspectratio"]
    assert scene["aspectmode"] == "manual"
    assert spans["x"] / ratio["x"] == pytest.approx(spans["y"] / ratio["y"]) == pytest.approx(spans["z"] / ratio["z"])


def test_switching_the_colouring_changes_neither_camera_nor_scale_nor_what_the_camera_is_kept_by() -> None:
    scenes = [view(colouring, name="a piece")["layout"]["scene"] for colouring in COLOURINGS]
    assert all(scene == scenes[0] for scene in scenes)
    assert view(name="another")["layout"]["scene"]["uirevision"] != scenes[0]["uirevision"]


def test_the_first_camera_sees_all_of_the_pattern() -> None:
    figure = view()
    scene, surface = figure["layout"]["scene"], figure["data"][0]
    eye = np.array([scene["camera"]["eye"][axis] for axis in "xyz"])
    ranges = np.array([scene[f"{axis}axis"]["range"] for axis in "xyz"])
    points = np.stack([surface[axis] for axis in "xyz"], axis=1)
    points = (points - ranges.mean(axis=1)) / np.ptp(ranges, axis=1).max()
    ahead = -eye / np.linalg.norm(eye)
    right = np.cross(ahead, [0, 0, 1])
    right /= np.linalg.norm(right)
    depth = (points - eye) @ ahead
    assert (depth > 0).all()
    # The chart library's view is 45 degrees from its lower to its upper edge.
    assert np.abs((points @ np.cross(right, ahead)) / depth).max() < np.tan(np.radians(22.5))


def test_parting_line_vents_and_base_are_drawn_and_each_half_has_its_arrow() -> None:
    figure = view()
    (parting,) = named(figure, "parting line")
    # Lifted a hair off the surface, so that it isn't half hidden in it.
    assert 170.0 < np.nanmax(parting["z"]) < 171.5
    assert len([trace for trace in named(figure, "pull") if trace["type"] == "mesh3d"]) == 2
    assert [trace["text"] for trace in named(figure, "vents") if "text" in trace] == [["vent 1"]]
    assert named(figure, "base plane") and not named(view(stands_on_base=False), "base plane")


def test_a_piece_that_lifts_straight_up_has_one_arrow_which_points_up() -> None:
    survey = a_survey()
    one = (Piece((0.0, 0.0, 1.0), 1.0),)
    lifted = replace(survey, pull=replace(survey.pull, axis=(0.0, 0.0, 1.0), pieces=one, soft_pieces=one, parting=()))
    figure = pattern_view(a_picture(), lifted, "undercut", stands_on_base=True)
    (arrow,) = [trace for trace in named(figure, "pull") if trace["type"] == "mesh3d"]
    assert arrow["z"].min() > 180.0
    go.Figure(figure)


def test_poured_round_as_it_stands_the_hollows_are_marked_with_their_depth_and_no_vent() -> None:
    figure = view("air standing")
    assert [mark["text"] for mark in named(figure, "air under the pattern")] == [["12 mm"], ["3 mm"]]
    assert not named(figure, "vents")


def test_the_title_states_the_finding() -> None:
    assert view()["layout"]["title"]["text"].startswith("Undercuts moderate: 31")
    assert view("air casting")["layout"]["title"]["text"].startswith("Cast it upside down")


def test_the_arrays_travel_packed_and_a_page_can_hold_them() -> None:
    packed = settled(view())["data"][0]
    assert {packed[key]["dtype"] for key in ("x", "y", "z", "intensity")} == {"f4"}
    assert {packed[key]["dtype"] for key in "ijk"} == {"u2"}
    json.dumps(settled(view()))


def test_each_ramp_darkens_all_the_way_so_that_it_reads_in_grey() -> None:
    # Relative luminance: Web Content Accessibility Guidelines 2.2, W3C, "relative luminance".
    def luminance(colour: tuple[int, int, int]) -> float:
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (v / 255 for v in colour)]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    for colouring in COLOURINGS:
        falling = [luminance(colour) for at, colour in stops(colouring) if at > 0.003]
        assert falling == sorted(falling, reverse=True)
        assert falling[0] > 4 * falling[-1]


def test_a_face_without_a_figure_is_plain_and_one_with_it_is_not() -> None:
    figures = np.array([0.0, 1.0, 10.0, 99.0])
    colours = face_colours(figures, 10.0, "undercut")
    assert tuple(colours[0]) == PLAIN
    assert not np.allclose(colours[1], PLAIN)
    assert np.allclose(colours[2], colours[3]), "past the end of the scale the colour stays"
    assert [at for at, _ in colour_scale("undercut")] == [at for at, _ in stops("undercut")]


@pytest.mark.parametrize(
    ("figures", "least", "end"),
    [([0.0, 0.0], 0.7, 0.8), ([0.0, 4.2], 0.7, 5.0), ([9.0], 0.7, 10.0), ([0.02], 0.001, 0.02), ([], 1.0, 1.0)],
)
def test_the_scale_ends_at_a_round_figure(figures: list[float], least: float, end: float) -> None:
    assert scale_end(np.array(figures), least) == pytest.approx(end)


def test_from_three_sides_the_pictures_stand_to_one_scale_where_the_pattern_is() -> None:
    figure = flat_view(a_picture(), a_survey(), "undercut")
    images = figure["layout"]["images"]
    assert [round(image["sizex"] / image["sizey"], 2) for image in images] == pytest.approx(
        [8 / 18, 8 / 18, 1.0], rel=0.02
    )
    assert images[0]["x"] == pytest.approx(-0.04)
    assert images[0]["y"] == pytest.approx(0.18, rel=0.02)
    spans = [np.ptp(figure["layout"][axis]["range"]) for axis in ("yaxis", "yaxis2", "yaxis3")]
    assert spans == pytest.approx([spans[0]] * 3)


def test_only_in_place_of_a_view_that_could_not_be_drawn_it_says_so() -> None:
    def said(instead: bool) -> list[str]:
        figure = flat_view(a_picture(), a_survey(), "undercut", instead=instead)
        return [words["text"] for words in figure["layout"]["annotations"]]

    assert WITHOUT_3D in said(True)
    assert WITHOUT_3D not in said(False)


def test_the_painter_hides_what_lies_behind() -> None:
    # Two squares over one another, the red one before the green one, which is larger; seen along -y from the front.
    def square(half: float, y: float) -> Any:
        a, b, c, d = (-half, y, -half), (half, y, -half), (half, y, half), (-half, y, half)
        return [[a, b, c], [a, c, d]]

    corners = np.array(square(1.0, 0.0) + square(2.0, 1.0))
    colours = np.array([(200.0, 0.0, 0.0)] * 2 + [(0.0, 200.0, 0.0)] * 2)
    made = painted(corners, colours, np.array([1.0, 0, 0]), np.array([0, 0, 1.0]), 100)
    middle, corner = made.picture[50, 50], made.picture[8, 8]
    assert middle[0] > 60 and middle[1] == 0
    assert corner[1] > 60 and corner[0] == 0
    assert made.low == pytest.approx([-2, -2])
