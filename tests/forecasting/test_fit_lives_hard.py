"""Hard files and questions put to `fit_lives`: what a stranger with a shell came upon."""

import pytest

from .survival.test_counts import MANY, STAND
from .test_fit_lives import DATA, HEADER, numbers, report, run, written


def test_a_part_that_let_go_at_its_entry_age_counts(tmp_path):
    found = report(written(tmp_path, "a,5,,,5,", "b,,,,6,", "c,,,,9,", "d,,,,11,"))
    assert found["status"] == "fitted"


def test_a_column_of_huge_or_tiny_numbers_has_its_slope(tmp_path):
    for size in (1e-90, 1.0, 1e90):
        rows = [f"b{i % 4},,,,{3 + i % 5 + i / 10},,{size * (i * 7 % 5):g}" for i in range(12)]
        found = report(written(tmp_path, *rows, header=f"{HEADER},k"))
        assert numbers(found)[1] * size == pytest.approx(0.109513, rel=1e-5)
        low, high = found["coefficients"][1]["lower"], found["coefficients"][1]["upper"]
        assert low < numbers(found)[1] < high


def test_a_number_beyond_all_use_and_a_negative_age_are_named(tmp_path):
    path = written(tmp_path, "a,,-3,4,,,1e200", "b,,2,,,,1", header=f"{HEADER},k")
    done = run(path)
    assert (done.returncode, done.stdout) == (2, "")
    assert "row 2, column k: too large" in done.stderr
    done = run(written(tmp_path, "a,,-3,4,,"))
    assert "row 2, column good_at: below 0" in done.stderr


def test_a_survival_beyond_what_was_watched_is_said_to_be_extrapolated():
    found = report(DATA / "rats.csv", survival_at="60,400")
    assert any("Survival at 400 is extrapolated" in warning for warning in found["warnings"])
    within = report(DATA / "rats.csv", survival_at="60")
    assert not any("extrapolated" in warning for warning in within["warnings"])


def test_a_rule_far_off_is_shown_to_matter_or_refused_never_a_crash(tmp_path):
    path = written(tmp_path, *(f"b{i},,{4 + i % 5},,," for i in range(9)))
    leaning = report(path, rule_of_thumb=30.0)["rule_of_thumb"]
    assert leaning["leans_on_rule"] is True
    assert (
        leaning["b10_with_another_rule"][0]
        < 30 / 1.3
        < 30 * 1.3
        < max(leaning["b10_with_another_rule"])
    )
    assert report(DATA / "rats.csv", rule_of_thumb=1e-90)["status"] in ("fitted", "refused")


def test_the_next_to_go_are_counted(tmp_path):
    # Bearing cages of Abernethy 1983 (see tests of the count): 5.0582, calibrated [1, 12].
    stand = dict(zip(STAND, MANY, strict=True))
    rows = [f"f{age},,,,{age}," for age in (230, 334, 423, 990, 1009, 1510)]
    rows += [f"s{age:g},,{age:g},,,{many}" for age, many in stand.items()]
    found = report(written(tmp_path, *rows), expected_within="300")["expected"]
    assert found["standing"] == 1697
    assert found["mean"] == pytest.approx(5.0582, abs=5e-5)
    assert (found["lower"], found["upper"]) == (1, 12)
