"""The simple forms: their volumes, areas and boxes against closed forms, and that each is one closed surface."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import elliprg

from moldkit.errors import InputError
from moldkit.pattern.forms import FORM_NOTES, FORMS, form_mesh
from moldkit.pattern.mesh import Mesh

# Any box of sides between 20 mm and 1 m: proportions up to 1 : 50.
SIZES = st.tuples(*[st.floats(0.02, 1.0)] * 3)


def area(mesh: Mesh) -> float:
    return float(np.linalg.norm(mesh.area_vectors(), axis=1).sum())


def filling(mesh: Mesh, size: tuple[float, float, float]) -> float:
    return mesh.volume() / math.prod(size)


def ellipsoid_area(a: float, b: float, c: float) -> float:
    """Area of an ellipsoid: Digital Library of Mathematical Functions, 19.33.1, S = 3 V R_G(a^-2, b^-2, c^-2)."""
    return float(4.0 * math.pi * a * b * c * elliprg(a**-2, b**-2, c**-2))


def ellipse_perimeter(a: float, b: float) -> float:
    """Perimeter of an ellipse: Digital Library of Mathematical Functions, 19.30.5, L = 8 R_G(0, a^2, b^2)."""
    return float(8.0 * elliprg(0.0, a * a, b * b))


def closed_form(form: str, size: tuple[float, float, float]) -> tuple[float, float]:
    """Volume [m3] and area [m2] by closed form."""
    a, b, height = size[0] / 2.0, size[1] / 2.0, size[2]
    cap = min(a, b, height / 2.0)
    side = ellipse_perimeter(a, b)
    base = math.pi * a * b
    match form:
        case "ball":
            return 4.0 / 3.0 * base * height / 2.0, ellipsoid_area(a, b, height / 2.0)
        case "dome":
            return 2.0 / 3.0 * base * height, ellipsoid_area(a, b, height) / 2.0 + base
        case "cylinder":
            return base * height, 2.0 * base + side * height
        case "capsule":
            straight = height - 2.0 * cap
            return 4.0 / 3.0 * base * cap + base * straight, ellipsoid_area(a, b, cap) + side * straight
        case _:
            return math.prod(size), 2.0 * (size[0] * size[1] + size[1] * size[2] + size[2] * size[0])


@given(form=st.sampled_from(["ball", "dome", "cylinder", "capsule", "box"]), size=SIZES)
def test_volume_is_the_closed_form_and_area_is_within_a_thousandth(form: str, size: tuple[float, float, float]) -> None:
    volume, surface = closed_form(form, size)  # source: closed form
    mesh = form_mesh(form, size)
    # A capsule whose straight part is under a thousandth of its height is drawn as the ball.
    assert mesh.volume() == pytest.approx(volume, rel=5e-4 if form == "capsule" else 1e-9)
    assert area(mesh) == pytest.approx(surface, rel=1e-3)


def test_the_closed_forms_agree_with_textbook_bodies() -> None:
    # Sphere of radius 1: 4 pi / 3 and 4 pi; circle: 2 pi. Source: closed form.
    assert closed_form("ball", (2.0, 2.0, 2.0)) == pytest.approx((4.0 * math.pi / 3.0, 4.0 * math.pi))
    # Spherocylinder of radius 1 and height 4: a sphere and a cylinder of height 2. Source: closed form.
    assert closed_form("capsule", (2.0, 2.0, 4.0)) == pytest.approx((10.0 * math.pi / 3.0, 8.0 * math.pi))
    # Prolate spheroid of half axes 1, 1, 2: 2 pi (1 + c / e asin e), c = 2, e^2 = 3/4. Source: closed form.
    e = math.sqrt(0.75)
    assert ellipsoid_area(1.0, 1.0, 2.0) == pytest.approx(2.0 * math.pi * (1.0 + 2.0 / e * math.asin(e)))


@pytest.mark.parametrize(
    ("form", "share", "tolerance"),
    [
        ("ball", math.pi / 6.0, 1e-9),  # closed form
        ("dome", math.pi / 6.0, 1e-9),  # closed form
        ("cylinder", math.pi / 4.0, 1e-9),  # closed form
        ("box", 1.0, 1e-9),  # closed form
        ("panel", 0.5, 1e-9),  # our own choice, stated in its note
        ("bust", 0.45, 0.005),  # our own choice, stated in its note
        ("figure", 0.25, 0.005),  # our own choice, stated in its note
    ],
)
def test_each_form_fills_the_share_of_its_box_that_its_note_states(form: str, share: float, tolerance: float) -> None:
    size = (0.3, 0.2, 0.5)
    assert filling(form_mesh(form, size), size) == pytest.approx(share, abs=tolerance)
    assert f"{share:.3g}" in FORM_NOTES[form]


def test_a_capsule_fills_what_its_note_says_and_too_low_it_is_the_ball() -> None:
    tall, low = (0.1, 0.14, 0.3), (0.3, 0.3, 0.2)
    # pi/4 - pi/6 x cap height / height, the cap as high as the smaller half-width. Source: closed form.
    assert filling(form_mesh("capsule", tall), tall) == pytest.approx(math.pi / 4.0 - math.pi / 6.0 * 0.05 / 0.3)
    np.testing.assert_array_equal(form_mesh("capsule", low).vertices, form_mesh("ball", low).vertices)


@given(form=st.sampled_from(FORMS), size=SIZES)
def test_every_form_is_one_closed_surface_that_faces_outward(form: str, size: tuple[float, float, float]) -> None:
    mesh = form_mesh(form, size)
    faces = mesh.faces
    one_way = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    there = one_way[:, 0] * len(mesh.vertices) + one_way[:, 1]
    back = one_way[:, 1] * len(mesh.vertices) + one_way[:, 0]
    # Each edge is walked once in each direction: closed, manifold along edges, all faces turned the same way.
    assert len(np.unique(there)) == len(there)
    np.testing.assert_array_equal(np.sort(there), np.sort(back))
    assert set(np.unique(faces)) == set(range(len(mesh.vertices)))
    assert mesh.volume() > 0.0
    assert 2000 <= len(faces) <= 8000


@given(form=st.sampled_from(FORMS), size=SIZES)
def test_every_form_touches_its_box_and_has_no_flattened_triangle(form: str, size: tuple[float, float, float]) -> None:
    mesh = form_mesh(form, size)
    np.testing.assert_allclose(np.ptp(mesh.vertices, axis=0), size, rtol=1e-9)
    np.testing.assert_allclose(mesh.vertices.max(axis=0), (size[0] / 2.0, size[1] / 2.0, size[2]), rtol=1e-9)
    assert mesh.vertices[:, 2].min() == 0.0
    # Against the triangle's own longest edge, so that a long thin box is no excuse.
    corners = mesh.corners()
    longest2 = ((corners - np.roll(corners, 1, axis=1)) ** 2).sum(axis=2).max(axis=1)
    assert (np.linalg.norm(mesh.area_vectors(), axis=1) > 1e-6 * longest2).all()


@pytest.mark.parametrize(("form", "pieces"), [(form, 1) for form in FORMS])
def test_every_form_is_a_single_body(form: str, pieces: int) -> None:
    faces = form_mesh(form, (0.2, 0.2, 0.3)).faces
    part = np.arange(faces.max() + 1)
    before = np.zeros_like(part)
    while not np.array_equal(part, before):
        before = part.copy()
        for a, b in ((0, 1), (1, 2), (2, 0)):
            np.minimum.at(part, faces[:, a], before[faces[:, b]])
    assert len(np.unique(part)) == pieces


@pytest.mark.parametrize("form", ["dome", "cylinder", "box", "panel", "bust", "figure"])
def test_a_form_that_stands_has_a_flat_base(form: str) -> None:
    mesh = form_mesh(form, (0.2, 0.2, 0.3))
    assert np.linalg.norm(mesh.area_vectors()[mesh.base_faces()], axis=1).sum() > 0.1 * 0.2 * 0.2


def test_a_panel_draws_straight_up() -> None:
    mesh = form_mesh("panel", (0.4, 0.3, 0.05))
    up = mesh.area_vectors()[~mesh.base_faces(), 2]
    assert (up > -1e-12).all()


@given(form=st.sampled_from(FORMS), size=SIZES, scale=st.floats(0.5, 4.0))
def test_volume_grows_with_the_cube_of_the_size(form: str, size: tuple[float, float, float], scale: float) -> None:
    larger = (scale * size[0], scale * size[1], scale * size[2])
    # A capsule just at the height where it turns into the ball may fall to either side of that line.
    assert form_mesh(form, larger).volume() == pytest.approx(scale**3 * form_mesh(form, size).volume(), rel=6e-4)


def test_the_bust_and_the_figure_are_shaped_like_what_they_are_called() -> None:
    bust, figure = form_mesh("bust", (0.44, 0.29, 0.6)), form_mesh("figure", (0.35, 0.25, 1.0))

    def width_at(mesh: Mesh, low: float, high: float) -> float:
        height = mesh.vertices[:, 2] / mesh.vertices[:, 2].max()
        return float(np.ptp(mesh.vertices[(height > low) & (height < high), 0]))

    head, neck, chest = width_at(bust, 0.7, 0.9), width_at(bust, 0.5, 0.6), width_at(bust, 0.2, 0.4)
    assert neck < head < chest
    level = figure.vertices[(figure.vertices[:, 2] > 0.2) & (figure.vertices[:, 2] < 0.3)]
    assert (np.abs(level[:, 0]) > 0.004).all()  # between the legs there is air
    assert width_at(figure, 0.92, 1.0) < width_at(figure, 0.75, 0.82)


def test_a_mesh_may_be_changed_without_touching_the_next_one() -> None:
    first = form_mesh("box", (0.1, 0.1, 0.1))
    first.vertices[:] = 0.0
    first.faces[:] = 0
    assert form_mesh("box", (0.1, 0.1, 0.1)).volume() == pytest.approx(1e-3)


def test_every_form_carries_its_note() -> None:
    assert set(FORMS) == {"ball", "dome", "cylinder", "box", "capsule", "panel", "bust", "figure"}
    for form in FORMS:
        assert form_mesh(form, (0.1, 0.1, 0.1)).notes == (FORM_NOTES[form],)
        assert FORM_NOTES[form].endswith(".")


def test_an_unknown_form_names_the_nearest_one() -> None:
    with pytest.raises(InputError, match=r"unknown form 'dom'; did you mean 'dome'"):
        form_mesh("dom", (0.1, 0.1, 0.1))


@pytest.mark.parametrize("side", [0.0, -0.1, math.nan, math.inf])
def test_a_side_that_is_no_length_is_refused(side: float) -> None:
    for place in range(3):
        size = [0.1, 0.1, 0.1]
        size[place] = side
        with pytest.raises(InputError, match=r"three lengths above zero"):
            form_mesh("ball", (size[0], size[1], size[2]))
