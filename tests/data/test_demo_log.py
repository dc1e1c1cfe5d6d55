"""The demo log of the invented shop: made by its script, read by the kit, and true to the lives it was drawn from."""

from __future__ import annotations

import math
import re
import subprocess
import sys
from collections import Counter
from pathlib import Path
from statistics import NormalDist

from moldkit.materials import load_materials
from moldkit.mold_log import MoldRecord, read_log, records_for
from moldkit.study.knowledge import load_knowledge

ROOT = Path(__file__).resolve().parents[2]
DATA = ROOT / "data"


def pair(rubber: str, casting: str) -> list[MoldRecord]:
    """Return the molds of two families."""
    return [r for r in read_log(DATA) if (r.rubber_family, r.casting_family) == (rubber, casting)]


def test_the_script_makes_the_log_that_is_there(tmp_path: Path) -> None:
    made = tmp_path / "log.csv"
    subprocess.run([sys.executable, "-I", str(DATA / "make_mold_log.py"), "--to", str(made)], check=True)
    assert made.read_bytes() == (DATA / "mold_log.csv").read_bytes()


def test_the_log_says_that_it_is_invented() -> None:
    script = (DATA / "make_mold_log.py").read_text(encoding="utf-8")
    assert "Tidewater Lane Castings, an invented small casting shop" in script
    assert "The\nmolds are invented." in script


def test_seventy_molds_of_three_years_in_every_state() -> None:
    records = read_log(DATA)
    assert len(records) == 70
    assert set(Counter(record.state for record in records)) == {"in use", "worn out", "retired early", "spoiled"}
    days = [record.date for record in records]
    assert 2.5 * 365 < (max(days) - min(days)).days < 3 * 366
    assert all(re.fullmatch(r"2[4-6]-\d{3}", record.mold) for record in records)


def test_pairs_are_well_filled_or_few_or_without_a_failure() -> None:
    def ended(rubber: str, casting: str) -> tuple[int, int]:
        found = pair(rubber, casting)
        return len(found), sum(record.worn_out for record in found)

    molds, failures = ended("platinum silicone", "rigid urethane")
    assert molds == 25 and 12 <= failures <= 18
    assert sum(record.state == "in use" for record in pair("platinum silicone", "rigid urethane")) >= 2
    assert ended("latex", "plaster")[0] == 12
    assert ended("tin-cured silicone", "wax") == (6, 0)
    assert ended("platinum silicone", "epoxy")[0] == 1


def test_most_demo_jobs_have_molds_of_their_pair() -> None:
    materials = load_materials(DATA)
    records = read_log(DATA)
    for rubber, casting in [
        ("platinum silicone, slow", "rigid urethane resin"),
        ("natural latex, brush-on", "gypsum plaster"),
        ("urethane rubber, firm", "concrete"),
        ("platinum silicone, high-temperature", "tin alloy"),
    ]:
        assert len(records_for(records, materials.rubbers[rubber], materials.castings[casting]).own) >= 2


def test_a_mold_with_a_thin_wall_is_turned() -> None:
    methods = load_knowledge(DATA).methods
    for record in read_log(DATA):
        assert (record.wall == "thin") == methods[record.method].row.flag("hollow"), record.mold


def test_the_molds_are_as_many_failures_as_the_made_up_lives_lead_to_expect() -> None:
    # Each mold has spent H(castings) of its cumulative hazard, H(t) = (t / scale)^shape, and the sum over the molds is
    # the number of failures to be expected of those that had just this wear (the martingale property of counting
    # processes); the real number lies within what chance allows, taken as Poisson. Truth: median 36, shape 3.3 in
    # plain use, times the factors of the use, as data/make_mold_log.py states; read here from the tables instead.
    factors = load_knowledge(DATA).life.factors
    found = pair("platinum silicone", "rigid urethane")
    spent = 0.0
    for record in found:
        factor = math.prod(factors[use].quantity("factor").value for use in record.uses.items())
        # A life is made whole upwards, so half a pour earlier on average.
        spent += math.log(2.0) * (max(record.castings - 0.5, 0.0) / (36 * factor)) ** 3.3
    failures = sum(record.worn_out for record in found)
    assert abs(failures - spent) < NormalDist().inv_cdf(0.995) * math.sqrt(spent)
