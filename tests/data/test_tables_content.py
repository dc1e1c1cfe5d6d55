"""What stands in data/ is whole, consistent, and agrees with published figures and facts of the trade.

Read with the csv and toml modules alone, so that a fault in the loader cannot hide a fault in the data.
"""

from __future__ import annotations

import csv
import math
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
DATA = ROOT / "data"
COLUMNS = ROOT / "moldkit" / "columns"
TABLES = sorted(path.stem for path in DATA.glob("*.csv") if (COLUMNS / path.name).is_file())
JOBS = sorted((DATA / "jobs").glob("*.toml"))

Row = dict[str, str]


def rows(table: str) -> list[Row]:
    """Return a table's rows, cell by header."""
    with (DATA / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, strict=True))


def dictionary(table: str) -> list[Row]:
    """Return a table's column dictionary."""
    with (COLUMNS / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, strict=True))


def figures(row: Row, column: str) -> tuple[float, float, float]:
    """Return low, likely and high of a column, in the file's unit."""
    found = {header.split(" ")[1]: cell for header, cell in row.items() if header.split(" ")[0] == column}
    return float(found["low"]), float(found["likely"]), float(found["high"])


def likely(row: Row, column: str) -> float:
    return figures(row, column)[1]


def words(row: Row, column: str) -> set[str]:
    return {word for word in row[column].split(";") if word}


def named(table: str, name: str) -> Row:
    return next(row for row in rows(table) if row["name"] == name)


# -------------------------------------------------------------------------------------- the tables are whole


def test_every_column_dictionary_but_the_shops_has_its_table() -> None:
    wanted = {path.stem for path in COLUMNS.glob("*.csv")} - {"shop"}
    assert wanted <= set(TABLES) | {path.stem for path in DATA.glob("*.csv")}


@pytest.mark.parametrize(
    ("table", "least"),
    [
        ("techniques", 4),
        ("casting_methods", 7),
        ("rubbers", 10),
        ("casting_materials", 13),
        ("shell_materials", 5),
        ("supplies", 5),
        ("surfaces", 12),
        ("mold_life", 25),
        ("life_factors", 14),
        ("steps", 27),
        ("rules", 30),
    ],
)
def test_a_table_holds_at_least_what_a_shop_needs_to_start(table: str, least: int) -> None:
    assert len(rows(table)) >= least


@pytest.mark.parametrize("table", TABLES)
def test_low_likely_and_high_are_in_order(table: str) -> None:
    for row in rows(table):
        for column in (line["column"] for line in dictionary(table) if line["kind"] == "range"):
            low, best, high = figures(row, column)
            assert low <= best <= high, f"{table}: {row} {column}"


# The log is the shop's own record: each row is its own source.
SOURCED = [table for table in TABLES if table != "mold_log"]


@pytest.mark.parametrize("table", SOURCED)
def test_every_row_says_where_it_comes_from_and_per_column_sources_name_a_column(table: str) -> None:
    known = {line["column"] for line in dictionary(table)}
    for row in rows(table):
        general, *own = [part.strip() for part in row["source"].split(";")]
        assert general
        assert general.split(":")[0] not in known, (
            f"{table}: general source {general!r} reads like a column's"
        )
        for part in own:
            column, colon, text = part.partition(":")
            assert column in known and colon and text.strip(), f"{table}: {part!r}"


@pytest.mark.parametrize("table", TABLES)
def test_keys_are_not_repeated(table: str) -> None:
    keys = [line["column"] for line in dictionary(table) if line["kind"] in ("key", "pair")]
    found = [tuple(row[key] for key in keys) for row in rows(table)]
    assert len(found) == len(set(found))


@pytest.mark.parametrize("table", ["rubbers", "casting_materials", "shell_materials", "supplies", "surfaces"])
def test_materials_go_by_generic_lower_case_words_and_no_brand(table: str) -> None:
    for row in rows(table):
        for column in ("name", "family"):
            text = row.get(column, "")
            assert text == text.lower(), f"{table}: {text!r} has a capital, as a brand would"
            assert re.fullmatch(r"[a-z ,-]*", text), f"{table}: {text!r} reads like a product"


# --------------------------------------------------------------------------------- names point at each other


def test_every_life_row_names_a_rubber_and_a_casting_that_exist() -> None:
    rubbers = {word for row in rows("rubbers") for word in (row["name"], row["family"])}
    castings = {word for row in rows("casting_materials") for word in (row["name"], row["family"])}
    for row in rows("mold_life"):
        assert row["rubber"] in rubbers
        assert row["casting"] in castings


def test_every_casting_family_has_a_rubber_that_it_is_cast_in() -> None:
    covered = {row["casting"] for row in rows("mold_life")}
    assert {row["family"] for row in rows("casting_materials")} <= covered


def test_each_family_has_exactly_one_preferred_grade_for_each_way_that_it_suits() -> None:
    families: dict[str, list[Row]] = {}
    for row in rows("rubbers"):
        assert words(row, "preferred") <= words(row, "suits")
        families.setdefault(row["family"], []).append(row)
    assert set(families) == {"platinum silicone", "tin-cured silicone", "urethane rubber", "latex"}
    for family, grades in families.items():
        for way in ("poured", "brushed"):
            suited = [row["name"] for row in grades if way in words(row, "suits")]
            first = [row["name"] for row in grades if way in words(row, "preferred")]
            assert len(first) == (1 if suited else 0), f"{family}, {way}: {first}"
    # Latex dries and doesn't cure in mass (common practice, no source).
    assert all("poured" not in words(row, "suits") for row in families["latex"])


@pytest.mark.parametrize("made", ["laid up", "printed"])
def test_there_is_one_first_choice_of_shell_material_for_each_way_of_making(made: str) -> None:
    assert [row["preferred"] for row in rows("shell_materials") if row["made"] == made].count("yes") == 1


def test_castings_use_methods_that_exist_and_every_method_is_used() -> None:
    methods = {row["name"] for row in rows("casting_methods")}
    assert set().union(*(words(row, "methods") for row in rows("casting_materials"))) == methods


def test_a_material_rises_if_and_only_if_it_is_cast_by_filling_with_foam() -> None:
    foaming = {row["name"] for row in rows("casting_methods") if row["foam"] == "yes"}
    for row in rows("casting_materials"):
        rises = figures(row, "foam_pressure")[2] > 0.0
        assert rises == bool(words(row, "methods") & foaming), row["name"]
        assert not rises or words(row, "methods") <= foaming, row["name"]


def test_life_factors_cover_every_method_undercut_wall_and_release_and_leave_the_plain_case_alone() -> None:
    found = {(row["kind"], row["value"]): figures(row, "factor") for row in rows("life_factors")}
    wanted = {("method", row["name"]) for row in rows("casting_methods")}
    wanted |= {("undercut", grade) for grade in ("none", "moderate", "severe")}
    wanted |= {("wall", "thin"), ("wall", "full"), ("release", "yes"), ("release", "no")}
    assert set(found) == wanted
    plain = (("method", "open pour"), ("undercut", "none"), ("wall", "full"), ("release", "yes"))
    assert all(found[key] == (1.0, 1.0, 1.0) for key in plain)
    assert found["undercut", "severe"][1] < found["undercut", "moderate"][1] < 1.0


def test_every_technique_and_the_castings_have_steps_and_no_others_do() -> None:
    assert {row["technique"] for row in rows("steps")} == {row["key"] for row in rows("techniques")} | {
        "casting"
    }


def test_step_times_are_likely_times_with_low_and_high_at_their_stated_shares() -> None:
    for row in rows("steps"):
        for column in ("fixed", "per_driver"):
            low, best, high = figures(row, column)
            assert low == pytest.approx(0.6 * best)
            assert high == pytest.approx(1.7 * best)
        assert (likely(row, "per_driver") > 0.0) == (row["driver"] != "none")


def test_poured_rubber_cures_brushed_rubber_waits_between_coats_and_a_shell_sets() -> None:
    # Common practice, no source.
    waits = {(row["technique"], row["step"]): row["wait"] for row in rows("steps")}
    for technique in ("poured_block", "cavity_pour", "printed_shell"):
        assert waits[technique, "mix, degas, pour"] == "rubber cure"
    assert waits["brushed_skin", "each coat"] == "coat gap"
    assert waits["brushed_skin", "support shell"] == "shell set"
    assert waits["cavity_pour", "support shell, spout, vents"] == "shell set"
    assert waits["casting", "mix, degas and pour"] == "casting cure"


@pytest.mark.parametrize("row", rows("rules"), ids=lambda row: row["rule"])
def test_a_rule_gives_one_sentence_of_reason_and_one_of_remedy_and_a_unit_to_its_limits(row: Row) -> None:
    for column in ("reason", "remedy"):
        text = row[column]
        assert text[0].isupper() and text.endswith(".") and ". " not in text, text
    assert bool(row["caution_at"] or row["stop_at"]) == bool(row["unit"])
    if row["caution_at"] and row["stop_at"]:
        assert float(row["caution_at"]) < float(row["stop_at"])
    assert row["rule"].isidentifier()


# ------------------------------------------------------------------------------------------- traits of trade


def test_techniques_have_the_traits_that_common_practice_gives_them() -> None:
    # Common practice, no source: brushed rubber is not degassed and so takes no pressure; a block buries the
    # pattern; in a cavity pour a re-pour keeps shell and pattern.
    found = {row["name"]: row for row in rows("techniques")}
    assert list(found) == ["poured block", "brushed skin", "cavity pour", "cavity pour, printed shell"]
    for row in found.values():
        assert (row["takes_pressure"] == "yes") == (row["degassed"] == "yes") == (row["goes_on"] == "poured")
        assert (row["buries_pattern"] == "yes") == (row["name"] == "poured block") == (row["shell"] == "none")
        assert (row["re_pours"] == "yes") == row["name"].startswith("cavity pour")
    assert found["cavity pour"]["presses_clay"] == "yes"
    assert found["cavity pour, printed shell"]["presses_clay"] == "no"


def hours_on_a_head(technique: str) -> float:
    """Return likely hours of a first mold on an ellipsoid head of 24 x 27 x 28 cm, by plain arithmetic.

    Rubber 17.6 L as a block and 2.8 L as a cavity pour, skin about 10 mm in 4 coats, two pieces.
    """
    a, b, c = 0.12, 0.135, 0.14
    p = 1.6075  # The usual approximation of an ellipsoid's surface has this exponent.
    area = 4 * math.pi * (((a * b) ** p + (a * c) ** p + (b * c) ** p) / 3) ** (1 / p)
    perimeter = 2 * math.pi * math.sqrt((b * b + c * c) / 2)
    drivers = {
        "none": 0.0,
        "molded area [m2]": area,
        "skin area [m2]": 1.05 * area,
        "shell area [m2]": 1.12 * area,
        "board area [m2]": 2 * (0.285 + 0.315) * 0.33,
        "parting length [m]": perimeter,
        "rubber [L]": 17.6 if technique == "poured_block" else 2.8,
        "piece": 0.0,  # no vent beyond the usual two
    }
    total = 0.0
    for row in rows("steps"):
        if row["technique"] == technique:
            times = 4 if row["step"] == "each coat" else 1
            total += times * (likely(row, "fixed") + likely(row, "per_driver") * drivers[row["driver"]])
    return total


def test_a_cavity_pour_takes_about_the_labor_of_a_brushed_skin_and_a_block_far_less() -> None:
    # Common practice, no source: cavity pour about equal to brushed skin, both well above block.
    block, brushed, cavity = (hours_on_a_head(key) for key in ("poured_block", "brushed_skin", "cavity_pour"))
    assert cavity == pytest.approx(brushed, rel=0.25)
    assert block < 0.5 * min(brushed, cavity)


def test_a_remake_of_a_brushed_skin_repeats_every_step_and_of_a_cavity_pour_only_the_pour() -> None:
    # Common practice, no source: a cavity pour re-pours rubber only, a brushed skin repeats all its steps.
    share: dict[str, dict[str, float]] = {}
    for row in rows("steps"):
        share.setdefault(row["technique"], {})[row["step"]] = float(row["remake [-]"])
    assert set(share["brushed_skin"].values()) == {1.0}
    whole = {step for step, part in share["cavity_pour"].items() if part == 1.0}
    assert whole == {"mix, degas, pour", "open, demold, trim"}
    assert share["poured_block"]["build and seal the box"] == 0.0


def test_hazards_of_each_chemistry_are_named() -> None:
    # The usual warnings: isocyanates and styrene (NIOSH IDLH pages for MDI and styrene), silica in cement
    # mixes (29 CFR 1910.1053), amines in epoxy hardeners, peroxide in polyester (common practice, no source).
    usual = {
        "urethane": {"isocyanate"},
        "polyester": {"styrene", "peroxide"},
        "epoxy": {"amine"},
        "cement": {"silica dust", "alkali"},
        "gypsum": {"dust"},
        "wax": {"heat"},
        "metal": {"hot metal"},
    }
    for row in rows("casting_materials"):
        assert usual.get(row["chemistry"], set()) <= words(row, "hazards"), row["name"]


def test_surfaces_that_inhibit_are_those_that_published_notes_name() -> None:
    # Sulfur, amines, tin: several published notes; clay must be free of sulfur: North Dakota State Museum
    # weblog; uncured resin on prints: common practice, no source.
    inhibit = {row["name"]: row["inhibits"] == "yes" for row in rows("surfaces")}
    for name in ("sulfur clay", "latex or rubber", "tin-cured silicone", "fresh epoxy", "printed resin"):
        assert inhibit[name], name
    for name in ("sulfur-free clay", "sealed plaster", "metal", "glass", "wax", "stone"):
        assert not inhibit[name], name
    soft = {row["name"] for row in rows("surfaces") if row["soft"] == "yes"}
    assert soft == {"sulfur clay", "sulfur-free clay", "damp clay", "wax"}


def test_latex_is_attacked_by_resins_and_not_by_plaster_concrete_wax_or_metal() -> None:
    # Common practice, no source.
    for row in rows("casting_materials"):
        resin = row["chemistry"] in ("urethane", "epoxy", "polyester")
        assert (row["attacks_latex"] == "yes") == resin, row["name"]


# ----------------------------------------------------------------------------------------- published figures


def test_shrinkage_of_mold_silicones_lies_in_the_published_ranges() -> None:
    # Addition-cured: under 0.1 % linear. Condensation-cured: published from 0.2 to 1.2 %.
    for row in [*rows("rubbers"), *rows("casting_materials")]:
        low, _, high = figures(row, "shrinkage")
        if row["chemistry"] == "addition silicone":
            assert high <= 0.1, row["name"]
        if row["chemistry"] == "condensation silicone":
            assert low >= 0.2 and high <= 1.2, row["name"]


def test_latex_shrinks_by_the_published_three_to_five_per_cent() -> None:
    # Making A Latex Mold (paleo.cc, 2009): normally about 3 to 5 %.
    low, best, high = figures(named("rubbers", "natural latex, brush-on"), "shrinkage")
    assert low <= 3.0 <= best <= 5.0 <= high


@pytest.mark.parametrize(("chemistry", "least", "most"), [("polyester", 5.0, 13.0), ("epoxy", 0.0, 7.0)])
def test_cast_resins_shrink_by_a_third_of_the_published_volume_shrinkage(
    chemistry: str, least: float, most: float
) -> None:
    # Volume: unsaturated polyester 5 to 13 %, epoxy about 2 and up to 7 %; linear shrinkage is about a third.
    for row in rows("casting_materials"):
        if row["chemistry"] == chemistry and words(row, "methods") != {"lay-up"}:  # glass holds a laminate
            low, best, high = figures(row, "shrinkage")
            assert least / 3 <= best <= most / 3 and high <= most / 3 + 0.01, row["name"]
            assert low >= least / 3 - 0.01, row["name"]


# Properties of Typical Gypsum Plasters and Cements (glass tips weblog, 2009), columns: parts of water to
# 100 of dry mix, dry density [kg/m3], expansion on setting [%].
PLASTERS = [(70, 1106, 0.20), (65, 1162, 0.22), (74, 1057, 0.19)]
CEMENTS = [(45, 1442, 0.39), (38, 1588, 0.08), (32, 1914, 0.24)]


@pytest.mark.parametrize(("name", "published"), [("gypsum plaster", PLASTERS), ("gypsum cement", CEMENTS)])
def test_gypsum_has_the_published_water_density_and_expansion(
    name: str, published: list[tuple[float, ...]]
) -> None:
    row = named("casting_materials", name)
    water, density, expansion = (sorted(column) for column in zip(*published, strict=True))
    assert figures(row, "mix_ratio") == tuple(water)
    assert figures(row, "density") == tuple(density)
    low, best, high = figures(row, "shrinkage")
    assert (low, high) == (-expansion[-1], -expansion[0]) and low <= best <= high < 0.0


def test_gypsum_is_mixed_with_more_water_than_it_binds() -> None:
    # Stoichiometry: CaSO4.0.5H2O binds 1.5 x 18.015 / 145.148 = 18.62 parts of water to 100.
    binds = 100 * 1.5 * 18.015 / 145.148
    for row in rows("casting_materials"):
        if row["chemistry"] == "gypsum":
            assert figures(row, "mix_ratio")[0] > binds, row["name"]


@pytest.mark.parametrize(
    ("table", "name", "least", "most"),
    [
        ("rubbers", "natural latex, brush-on", 920, 1037),  # natural rubber, published
        ("casting_materials", "epoxy resin", 1120, 1180),  # epoxy, published
        ("casting_materials", "polyester resin", 1150, 1250),  # about 1200, from memory
        ("casting_materials", "rigid urethane resin", 1050, 1200),  # from memory
        ("casting_materials", "casting wax", 880, 961),  # paraffin 900 from memory; beeswax 961, published
        ("casting_materials", "concrete", 2000, 2400),  # 2400 published; a fine mix is lighter
        ("rubbers", "tin-cured silicone, pourable", 1100, 1300),  # mold silicone, from memory
    ],
)
def test_densities_lie_in_the_published_ranges(table: str, name: str, least: float, most: float) -> None:
    low, _, high = figures(named(table, name), "density")
    assert least <= low and high <= most


def test_tin_alloy_is_poured_above_the_melting_point_of_tin_and_below_what_its_rubber_stands() -> None:
    # Tin: 232 degC and 7.3 g/cm3 (Smithsonian, Properties of Matter, element card of tin).
    tin = named("casting_materials", "tin alloy")
    assert figures(tin, "casting_temperature")[0] > 232
    assert likely(tin, "density") == pytest.approx(7300, rel=0.01)
    for row in rows("rubbers"):
        stands = figures(row, "heat_limit")[0] >= figures(tin, "casting_temperature")[2]
        assert stands == (row["name"] == "platinum silicone, high-temperature"), row["name"]


def test_every_pair_with_a_life_has_a_casting_no_hotter_than_its_rubber_stands() -> None:
    for pair in rows("mold_life"):
        limits = [
            likely(row, "heat_limit")
            for row in rows("rubbers")
            if pair["rubber"] in (row["name"], row["family"])
        ]
        heats = [
            likely(row, "casting_temperature")
            for row in rows("casting_materials")
            if pair["casting"] in (row["name"], row["family"])
        ]
        assert min(heats) <= min(limits), pair


@pytest.mark.parametrize(
    ("name", "column", "least", "most"),
    [
        # Facts of the trade (common practice, no source).
        ("platinum silicone, fast", "pot_life", 5, 10),
        ("platinum silicone, fast", "demold_time", 0.75, 1.5),
        ("platinum silicone, slow", "pot_life", 25, 45),
        ("platinum silicone, slow", "demold_time", 4, 6),
        ("platinum silicone, slow", "shore_a", 20, 30),
        ("platinum silicone, fast", "shore_a", 20, 30),
        # Getty TeacherArtExchange archive, April 2003: 20 to 60 min between coats of latex.
        ("natural latex, brush-on", "coat_gap", 20, 60),
    ],
)
def test_working_times_are_those_of_the_trade(name: str, column: str, least: float, most: float) -> None:
    low, _, high = figures(named("rubbers", name), column)
    assert (low, high) == (least, most)


def test_latex_takes_the_published_number_of_coats() -> None:
    # At least 4 to 7 coats (University of Wisconsin Geology Museum handout); 10 to 20 (encyclopedia article
    # on flexible molds); 18 (Getty TeacherArtExchange archive, April 2003).
    row = named("rubbers", "natural latex, brush-on")
    fewest = likely(row, "skin_least") / likely(row, "coat")
    most = likely(row, "skin_most") / likely(row, "coat")
    assert fewest >= 7 and 10 <= most <= 20


def test_brushed_skins_run_from_a_quarter_to_half_an_inch_in_three_to_five_coats() -> None:
    # About 1/4 in total in four layers (studio note), about 3/8 in (bronze foundry), 3/8 to 1/2 in poured
    # (two notes); three to five coats (bronze foundry page).
    for row in rows("rubbers"):
        if row["family"] != "latex":
            least, most = likely(row, "skin_least"), likely(row, "skin_most")
            assert 0.9 * 6.35 <= least <= 9.525 <= most <= 12.7, row["name"]
            assert 3 <= math.ceil(likely(row, "skin_least") / likely(row, "coat")) <= 5
            assert 3 <= math.ceil(most / likely(row, "coat")) <= 5


def test_casting_pressures_are_20_40_and_60_psi_and_the_vacuum_is_one_that_a_pump_reaches() -> None:
    # 1 psi = 6.894757 kPa and 1 inHg = 3.386389 kPa (NIST SP 811). Bubbles collapse near 28 to 29 inHg
    # (practice notes).
    found = {row["name"]: figures(row, "pressure") for row in rows("casting_methods")}
    assert found["pressure"] == pytest.approx([20 * 6.894757, 40 * 6.894757, 60 * 6.894757], rel=0.02)
    assert 27 <= -found["vacuum"][1] / 3.386389 <= 29
    assert all(found[name] == (0, 0, 0) for name in found if name not in ("pressure", "vacuum"))


def life(rubber: str, casting: str) -> tuple[float, float, float]:
    return next(
        figures(row, "life")
        for row in rows("mold_life")
        if (row["rubber"], row["casting"]) == (rubber, casting)
    )


def test_lives_with_urethane_resin_lie_among_the_published_counts() -> None:
    # Vacuum casting 10 to 30 pours (service bureaus; ACS Omega 2021, 6(7) 4687: "very few casting cycles");
    # hand cast 40 to 80, mostly 50 to 60 (a hobby caster's shop).
    low, best, high = life("platinum silicone", "rigid urethane")
    assert 10 <= low <= 30 and 40 <= best <= 60 and high <= 80
    tin = life("tin-cured silicone", "rigid urethane")
    assert 10 <= tin[0] <= 30 and tin[1] < best and tin[2] <= 80


def test_lives_with_concrete_in_urethane_lie_among_the_published_counts() -> None:
    # Several hundred (The Concrete Producer, Urethane Molding Casts Consistency); 200 to 300 (Concrete
    # Construction, Reuse of Form Liners, elastomeric); 100 or more (Concrete Network, types of form liners).
    low, best, high = life("urethane rubber", "concrete")
    assert low <= 100 <= best and 200 <= best <= 300 and 300 <= high < 1000


def test_lives_with_plaster_and_wax_lie_among_the_published_counts() -> None:
    # Silicone, plaster-like casts: hundreds (Currie Museum weblog, Molding and Casting Fossils, 2012),
    # thousands from heat-cured silicone (abstract, Molding and Casting Fossils for Geology Laboratories).
    # Latex: scores or even hundreds (Making A Latex Mold, paleo.cc, 2009). Silicone, wax: hundreds (jewelry
    # trade reprint).
    _, best, high = life("platinum silicone", "plaster")
    assert 100 <= best < 1000
    latex = life("latex", "plaster")
    assert 40 <= latex[0] <= 100 <= latex[1] and latex[1] < best and latex[2] < high
    assert 100 <= life("platinum silicone", "wax")[1] < 1000


def test_a_release_agent_about_doubles_the_life() -> None:
    # Practitioner note.
    factor = next(row for row in rows("life_factors") if (row["kind"], row["value"]) == ("release", "no"))
    assert 1 / likely(factor, "factor") == pytest.approx(2.0)


def test_the_greatest_block_is_two_cubic_feet_of_rubber() -> None:
    # Common practice, no source: about 57 L (2 cubic feet). 1 ft3 = 28.316847 L.
    rule = next(row for row in rows("rules") if row["rule"] == "very_much_rubber")
    assert rule["unit"] == "L"
    assert float(rule["caution_at"]) == pytest.approx(2 * 28.316847, rel=0.01)


# --------------------------------------------------------------------------------------------- shop and jobs


def toml(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def test_the_shop_file_has_exactly_the_keys_of_its_dictionary() -> None:
    known = dictionary("shop")
    found = set(toml(DATA / "shop.toml"))
    assert (
        {line["column"] for line in known if line["required"] == "yes"}
        <= found
        <= {line["column"] for line in known}
    )


def test_the_shop_gets_its_largest_batch_poured_within_the_pot_life_of_the_slow_silicone() -> None:
    shop = toml(DATA / "shop.toml")
    batch = float(shop["batch_most"].removesuffix(" kg"))
    takes = shop["mixing_start"]["likely"] + batch * shop["mixing_rate"]["likely"]
    assert takes < figures(named("rubbers", "platinum silicone, slow"), "pot_life")[0]


def test_the_shop_casts_within_its_pots_rating_and_cures_rubber_under_the_casting_pressure() -> None:
    shop = toml(DATA / "shop.toml")
    cast = next(likely(row, "pressure") for row in rows("casting_methods") if row["name"] == "pressure")
    rating, cure = (
        float(shop[key].removesuffix(" kPa")) for key in ("pressure_pot_rating", "rubber_cure_pressure")
    )
    assert cast <= cure <= rating


def test_there_are_at_least_six_demo_jobs_and_the_finial_among_them() -> None:
    assert len(JOBS) >= 6
    assert "finial" in {path.stem for path in JOBS}
    assert any("form" in toml(path)["pattern"] for path in JOBS)


@pytest.mark.parametrize("path", [DATA / "shop.toml", *JOBS], ids=lambda path: path.stem)
def test_a_demo_file_says_that_its_scenario_is_invented(path: Path) -> None:
    comment = " ".join(
        line.lstrip("# ") for line in path.read_text(encoding="utf-8").splitlines() if line.startswith("#")
    )
    assert "Tidewater Lane Castings, an invented small casting shop" in comment


JOB_KEYS = {
    "job": {"name", "note"},
    "pattern": {
        "mesh", "form", "unit", "longest", "size", "stands_on_base", "fixed_in_place", "vertical", "fragile",
        "unique", "undercut", "surface", "sealed", "survives",
    },
    "casting": {"material", "method", "yield", "release", "run", "wall"},
    "mold": {
        "rubber", "shell", "skin", "margin", "life", "cavities", "pours", "container", "pieces", "keep_shell",
        "degassed",
    },
    "shop": {line["column"] for line in dictionary("shop")},
    "quote": {line["column"] for line in dictionary("shop")},
}  # fmt: skip


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_a_demo_job_names_only_what_the_tables_hold(path: Path) -> None:
    job = toml(path)
    assert job.pop("schema") == 1
    alternatives = job.pop("alternative", [])
    changes = [(part, keys) for each in alternatives for part, keys in each.items() if part not in ("name", "note")]
    for part, keys in [*job.items(), *changes]:
        assert set(keys) <= JOB_KEYS[part], part
    pattern, casting = job["pattern"], job["casting"]
    assert pattern["surface"] in {row["name"] for row in rows("surfaces")}
    assert casting["method"] in words(named("casting_materials", casting["material"]), "methods")
    assert 1 <= casting["run"] <= 100_000 and 0 < casting["yield"] <= 1
    rubber = job["mold"]["rubber"]
    grades = [row for row in rows("rubbers") if rubber in (row["name"], row["family"])]
    assert grades
    families = {rubber, *(row["family"] for row in grades)}
    material = named("casting_materials", casting["material"])
    pairs = {(row["rubber"], row["casting"]) for row in rows("mold_life")}
    assert any((name, cast) in pairs for name in families for cast in (material["name"], material["family"]))


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_a_demo_jobs_pattern_is_there(path: Path) -> None:
    pattern = toml(path)["pattern"]
    if "form" in pattern:
        assert len(pattern["size"]) == 3
    else:
        assert pattern["unit"]
        assert (DATA / pattern["mesh"]).is_file(), pattern["mesh"]


def test_a_soft_pattern_is_said_not_to_survive() -> None:
    soft = {row["name"] for row in rows("surfaces") if row["soft"] == "yes"}
    for path in JOBS:
        pattern = toml(path)["pattern"]
        assert pattern["surface"] not in soft or pattern["survives"] is False, path.stem
