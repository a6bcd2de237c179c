"""`fit_lives` from outside: a file in, one JSON object out, everything else on stderr.

Run as its user runs it, in a process of its own, without a database and without a secret.
"""

import contextlib
import json
import math
import os
import subprocess
import sys
from io import StringIO
from pathlib import Path

import numpy as np
import pytest
from django.core.management import CommandError, call_command

from forecasting.survival import FAMILIES

ROOT = Path(__file__).parents[2]
DATA = ROOT / "tests" / "data"
HEADER = "boat,entry_age,good_at,condemned_at,failed_at,weight"
KEYS = {
    *("status", "reason", "warnings", "family", "log_likelihood", "aic", "lives", "deaths"),
    *("left_out", "sigma", "coefficients", "intervals", "boat_spread", "standing"),
    "boat_spread_band",
    "expected",
    *("rule_of_thumb", "survival"),
}


def run(*arguments: object, **environment: str) -> subprocess.CompletedProcess[str]:
    kept = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
    return subprocess.run(
        [sys.executable, "manage.py", "fit_lives", *map(str, arguments)],
        cwd=ROOT,
        env={**kept, "DJANGO_SETTINGS_MODULE": "fleet.project.settings", **environment},
        capture_output=True,
        text=True,
        check=False,
    )


def report(path: Path, family: str = "weibull", **options: object) -> dict:
    """The JSON object, run inside this process."""
    out = StringIO()
    with contextlib.suppress(CommandError):  # a refusal, whose JSON is on stdout all the same
        call_command("fit_lives", str(path), family=family, json=True, stdout=out, **options)
    return json.loads(out.getvalue())


def written(tmp_path: Path, *rows: str, header: str = HEADER) -> Path:
    path = tmp_path / "lives.csv"
    path.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    return path


def numbers(result: dict, column: str = "estimate") -> list[float]:
    return [row[column] for row in result["coefficients"]]


def test_a_surveyor_gets_one_json_object_and_nothing_else_on_stdout(tmp_path):
    done = run(
        DATA / "rats.csv",
        "--family",
        "weibull",
        "--json",
        "--rule-of-thumb",
        "off",
        STAYWARD_VAR=str(tmp_path / "var"),
    )
    assert done.returncode == 0, done.stderr
    result = json.loads(done.stdout)
    assert set(result) == KEYS
    assert result["status"] == "fitted"
    assert result["reason"] is None
    names = [row["name"] for row in result["coefficients"]]
    assert names == ["intercept", "rx", "male", "log_sigma"]
    # Mantel et al. 1977 (R survival::rats); clustered errors with G / (G - 1), computed.
    assert numbers(result) == pytest.approx([4.971433, -0.211706, 0.819654, -1.325645], abs=1e-5)
    clustered = [0.083809, 0.078720, 0.230376, 0.161010]
    assert numbers(result, "se_by_boat") == pytest.approx(clustered, abs=2e-6)
    assert (result["lives"], result["deaths"], result["left_out"]) == (300, 42, {})
    assert list(tmp_path.rglob("*sqlite*")) == []


def test_a_refusal_is_a_json_object_too_with_exit_code_3(tmp_path):
    path = written(tmp_path, "A,,12,,,", "B,,9,,,", "C,4,4,,,2")
    done = run(path, "--json")
    assert done.returncode == 3
    result = json.loads(done.stdout)
    assert set(result) == KEYS
    assert result["status"] == "refused"
    assert "No deaths" in result["reason"]
    assert result["coefficients"] == []
    assert (result["lives"], result["deaths"]) == (2, 0)
    assert result["left_out"] == {"never_seen_since_entry": 2}
    assert "No deaths" in done.stderr


def test_a_faulty_file_gives_exit_code_2_and_its_rows_on_stderr_only(tmp_path):
    path = written(tmp_path, "A,,4,,,", "B,5,4,,,", "C,,x,,,")
    done = run(path, "--json")
    assert done.returncode == 2
    assert done.stdout == ""
    assert "row 4, column good_at: 'x' is not a number" in done.stderr
    (tmp_path / "lives.csv").write_text(f"{HEADER}\nA,,4,,,\nB,5,4,,,\n")
    done = run(path, "--json")
    assert (done.returncode, done.stdout) == (2, "")
    assert "row 3, column good_at" in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    "options", [["--family", "gamma"], ["--rule-of-thumb", "on"], ["--nonsense"]]
)
def test_an_unknown_option_gives_exit_code_2(options):
    done = run(DATA / "rats.csv", *options)
    assert (done.returncode, done.stdout) == (2, "")
    assert options[-1] in done.stderr


def test_an_unknown_family_is_told_which_there_are():
    done = run(DATA / "rats.csv", "--family", "gamma")
    assert all(family in done.stderr for family in FAMILIES)


@pytest.mark.parametrize("name", ["absent.csv", "."])
def test_a_file_that_cannot_be_read_gives_exit_code_2(tmp_path, name):
    with pytest.raises(CommandError, match="cannot be read") as caught:
        call_command("fit_lives", str(tmp_path / name))
    assert caught.value.returncode == 2


def test_without_json_a_person_reads_a_table():
    out = StringIO()
    call_command("fit_lives", str(DATA / "breast_cosmesis.csv"), stdout=out)
    text = out.getvalue()
    assert "lives 94, deaths 56" in text
    assert "-0.567551" in text
    assert "chemo" in text


def test_a_refusal_is_readable_too(tmp_path):
    out = StringIO()
    with pytest.raises(CommandError, match="No deaths") as caught:
        call_command("fit_lives", str(written(tmp_path, "A,,12,,,")), stdout=out)
    assert caught.value.returncode == 3
    assert "weibull: refused" in out.getvalue()


@pytest.mark.parametrize(
    ("name", "family", "expected", "log_likelihood"),
    [
        # Finkelstein and Wolfe 1985 (R interval::bcos); computed.
        ("breast_cosmesis", "weibull", [3.899276, -0.567551], -143.320827),
        ("breast_cosmesis", "lognormal", [3.547875, -0.421000], -146.622332),
        ("breast_cosmesis", "loglogistic", [3.609245, -0.487307], -145.585062),
        # Nelson and Hahn 1972 (R survival::imotor).
        ("motorettes", "weibull", [16.31852, -0.04531], -147.365061),
        # Hyde 1980 (R boot::channing); computed.
        ("channing_house", "weibull", [6.960720, -0.039987], -1077.493521),
    ],
)
def test_published_files_give_the_published_answers(name, family, expected, log_likelihood):
    result = report(DATA / f"{name}.csv", family)
    assert numbers(result)[:2] == pytest.approx(expected, abs=1e-5)
    assert result["log_likelihood"] == pytest.approx(log_likelihood, abs=1e-5)
    assert result["aic"] == pytest.approx(6 - 2 * log_likelihood, abs=2e-5)
    assert result["family"] == family


def test_the_nist_lives_through_a_file(tmp_path):
    # NIST/SEMATECH e-Handbook 8.4.1.2: shape 1.7208, scale 606.528.
    failed = (54, 187, 216, 240, 244, 335, 361, 373, 375, 386)
    rows = [f"F{age},,,,{age}," for age in failed] + [f"S{i},,500,,," for i in range(10)]
    result = report(written(tmp_path, *rows))
    assert 1 / result["sigma"] == pytest.approx(1.7208, abs=5e-5)
    assert numbers(result)[0] == pytest.approx(6.407750, abs=1e-5)
    assert result["log_likelihood"] == pytest.approx(-75.134618, abs=1e-5)
    assert numbers(result, "se")[0] == pytest.approx(0.205944, abs=1e-5)
    assert any("20 boats" in warning for warning in result["warnings"])


def test_one_boat_only_has_no_error_by_boat(tmp_path):
    rows = [f"Petrel,,{age},{age + 1},," for age in range(3, 12)]
    result = report(written(tmp_path, *rows))
    assert numbers(result, "se_by_boat") == [None, None]
    assert any("one boat" in warning for warning in result["warnings"])


@pytest.mark.parametrize(
    ("extra", "cells", "says"),
    [
        ("rod", [("1",)] * 9, "rod"),
        ("a,b", [(str(i % 4), str(2 * (i % 4) + 1)) for i in range(9)], "b repeats a"),
        ("dead", [(str(int(i < 6)),) for i in range(9)], "dead"),
    ],
)
def test_columns_that_cannot_be_fitted_are_refused_by_name(tmp_path, extra, cells, says):
    ages = [f"B{i},,{3 + i},{4 + i},," for i in range(6)] + [f"B{i},,{4 + i},,," for i in (6, 7, 8)]
    rows = [",".join((age, *cell)) for age, cell in zip(ages, cells, strict=True)]
    result = report(written(tmp_path, *rows, header=f"{HEADER},{extra}"))
    assert result["status"] == "refused"
    assert says in result["reason"]


def test_a_large_file_is_read_and_fitted_in_reasonable_time(tmp_path):
    rows = [f"B{i % 300},,{i % 11 + i % 7 / 10},{i % 11 + 1 + i % 7 / 10},," for i in range(20000)]
    rows += [f"B{i % 300},,{12 + i % 5},,," for i in range(20000)]
    result = report(written(tmp_path, *rows))
    assert result["status"] == "fitted"
    assert (result["lives"], result["deaths"]) == (40000, 20000)


# -- a rule of thumb, boats that differ, families, survival


def test_good_wires_alone_are_refused_without_a_rule_and_answered_with_one(tmp_path):
    rows = [f"B{i % 30},,12,,,,{int(s == 1)},{int(s == 2)}" for i in range(180) for s in range(3)]
    path = written(tmp_path, *rows, header=f"{HEADER},run,upper")
    assert report(path)["status"] == "refused"
    found = report(path, rule_of_thumb=9.0)
    assert found["status"] == "fitted"
    assert found["standing"] == "rule of thumb, your boats so far"
    low, middle, high = found["rule_of_thumb"]["b10_after"]
    assert found["rule_of_thumb"]["b10_before"][1] == 9
    assert 9 < low < middle < high
    assert middle > 18
    assert found["rule_of_thumb"]["share_of_own_data"] > 0.5
    assert numbers(found, "se_by_boat") == [None] * 4


def test_another_unit_of_age_moves_the_rule_with_it(tmp_path):
    ages = [(3 + i % 7, 4 + i % 7) for i in range(12)]
    years = written(tmp_path, *(f"B{i},,{a},{b},," for i, (a, b) in enumerate(ages)))
    first = report(years, rule_of_thumb=4.0)
    hours = written(tmp_path, *(f"B{i},,{900 * a},{900 * b},," for i, (a, b) in enumerate(ages)))
    second = report(hours, rule_of_thumb=3600.0)
    shift = numbers(second)[0] - numbers(first)[0]
    assert shift == pytest.approx(6.802395, abs=2e-3)  # log 900
    assert numbers(second)[1:] == pytest.approx(numbers(first)[1:], abs=2e-3)


def test_columns_common_practice_knows_keep_its_slope_and_others_get_a_weak_one(tmp_path):
    rows = [f"B{i},,{4 + i % 9},,,,1,{10 + i % 5}" for i in range(30)]
    path = written(tmp_path, *rows, header=f"{HEADER},severity,length_m")
    found = report(path, rule_of_thumb=9.0)
    slopes = {row["name"]: row for row in found["coefficients"]}
    assert slopes["severity"]["estimate"] == pytest.approx(-0.19)
    assert slopes["length_m"]["estimate"] == 0
    assert any("length_m" in w and "weak" not in w for w in found["warnings"])
    assert not any("severity" in w for w in found["warnings"])


def test_boats_that_differ_have_their_spread_in_the_answer():
    alike = report(DATA / "rats.csv")
    differ = report(DATA / "rats.csv", boat_effect="on", survival_at="60,100", given="20")
    assert alike["boat_spread"] is None
    assert differ["boat_spread"] > 0.05
    assert differ["log_likelihood"] > alike["log_likelihood"]
    first, second = differ["survival"]
    assert 1 > first["estimate"] > second["estimate"] > 0
    assert all(p["lower"] < p["estimate"] < p["upper"] for p in differ["survival"])


def test_survival_at_an_age_is_that_of_the_fitted_curve():
    found = report(DATA / "rats.csv", survival_at="80", covariates="rx=1")
    mu = numbers(found)[0] + numbers(found)[1]
    expected = math.exp(-((80 / math.exp(mu)) ** (1 / found["sigma"])))
    assert found["survival"][0]["estimate"] == pytest.approx(expected)
    assert found["survival"][0]["age"] == 80


def test_a_family_is_chosen_only_where_deaths_can_tell():
    found = report(DATA / "rats.csv", "auto")
    assert found["family"] == "weibull"
    assert any("42 deaths cannot tell families apart" in w for w in found["warnings"])


def test_a_file_that_is_clearly_no_weibull_gets_another_family(tmp_path):
    rng = np.random.default_rng(1)
    lives = np.exp(2 + 0.9 * rng.standard_normal(500))
    rows = [f"B{i % 50},,,,{life:.5f}," for i, life in enumerate(lives)]
    found = report(written(tmp_path, *rows), "auto")
    assert found["family"] in ("lognormal", "loglogistic")  # hard to tell from each other
    assert numbers(found)[0] == pytest.approx(2, abs=0.12)
    assert any("boats left out" in w for w in found["warnings"])


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--survival-at", "5,x"], "'x' is not an age"),
        (["--survival-at", "5", "--given", "9"], "5 lies before --given 9"),
        (["--survival-at", "5", "--covariates", "foo=1"], "no covariate 'foo'; it has rx, male"),
        (["--given", "5"], "without --survival-at"),
        (["--rule-of-thumb", "-4"], "neither off nor an age above 0"),
        (["--rule-of-thumb", "nan"], "neither off nor an age above 0"),
        (["--boat-effect", "perhaps"], "perhaps"),
        (["--expected-within", "0"], "above 0"),
        (["--expected-within", "9", "--boat-effect", "on"], "boats as alike"),
    ],
)
def test_a_question_that_makes_no_sense_gives_exit_code_2(options, says):
    done = run(DATA / "rats.csv", *options)
    assert (done.returncode, done.stdout) == (2, "")
    assert says in done.stderr
    assert "Traceback" not in done.stderr


def test_a_person_reads_the_same_in_words():
    out = StringIO()
    call_command(
        "fit_lives", str(DATA / "rats.csv"), rule_of_thumb=100.0, boat_effect="on",
        survival_at="60", stdout=out,
    )  # fmt: skip
    text = out.getvalue()
    for words in ("boats differ by x/÷", "by rule of thumb 100", "from these lives", "survives 60"):
        assert words in text
