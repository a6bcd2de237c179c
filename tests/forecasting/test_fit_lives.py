"""`fit_lives` from outside: a file in, one JSON object out, everything else on stderr.

Run as its user runs it, in a process of its own, without a database and without a secret.
"""

import contextlib
import json
import os
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from forecasting.survival import FAMILIES

ROOT = Path(__file__).parents[2]
DATA = ROOT / "tests" / "data"
HEADER = "boat,entry_age,good_at,condemned_at,failed_at,weight"
KEYS = {
    *("status", "reason", "warnings", "family", "log_likelihood", "aic", "lives", "deaths"),
    *("left_out", "sigma", "coefficients"),
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


def report(path: Path, family: str = "weibull") -> dict:
    """The JSON object, run inside this process."""
    out = StringIO()
    with contextlib.suppress(CommandError):  # a refusal, whose JSON is on stdout all the same
        call_command("fit_lives", str(path), family=family, json=True, stdout=out)
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
