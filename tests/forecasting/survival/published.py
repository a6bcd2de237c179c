"""Published life data, small enough to be written out, each with its source."""

from pathlib import Path

import numpy as np

from forecasting.survival import Lives
from forecasting.survival.lives_file import read_lives

DATA = Path(__file__).parents[2] / "data"


def failures(failed: list[float], stopped: list[float]) -> Lives:
    """Exact failures and units stopped while still good."""
    return Lives(
        entry=np.zeros(len(failed) + len(stopped)),
        good=np.array([0.0] * len(failed) + list(stopped)),
        failed=np.array(list(failed) + [np.nan] * len(stopped)),
    )


def from_file(name: str) -> Lives:
    """One of tests/data, whose README gives the sources."""
    return read_lives(DATA / f"{name}.csv")


# NIST/SEMATECH e-Handbook of Statistical Methods, section 8.4.1.2.
NIST = failures([54, 187, 216, 240, 244, 335, 361, 373, 375, 386], [500] * 10)

# Journal of Quality Technology 1997, doi 10.1080/00224065.1997.11979730.
JQT = failures([45, 46, 34, 45, 32, 24, 58, 79, 56, 63, 34, 50], [23, 24, 57, 78, 76, 85, 51, 59])

# Abernethy, The New Weibull Handbook, figure 2-5.
ABERNETHY = failures([30, 49, 82, 90, 96], [10, 45, 100])

# O'Connor 1985 in Meeker and Escobar, Statistical Methods for Reliability Data (1998): kilometres
# to failure (first list) or removal of shock absorbers.
OCONNOR = failures(
    failed=[6700, 9120, 12200, 13150, 14300, 17520, 20100, 20900, 22700, 26510, 27490],
    stopped=[
        *(6950, 7820, 8790, 9660, 9820, 11310, 11690, 11850, 11880, 12140, 12870, 13330, 13470),
        *(14040, 17540, 17890, 18450, 18960, 18980, 19410, 20100, 20150, 20320, 23490, 27410),
        *(27890, 28100),
    ],
)


def turbine_parts() -> Lives:
    """Nelson, Applied Life Data Analysis (1982), p. 415: 167 parts read at eight inspections."""
    read_at = np.array([6.12, 19.92, 29.64, 35.40, 39.72, 45.24, 52.32, 63.48])
    found = np.array([5, 16, 12, 18, 18, 2, 6, 17])
    return Lives(
        entry=np.zeros(9),
        good=np.concatenate([[0.0], read_at]),
        condemned=np.append(read_at, np.inf),
        weight=np.append(found, 73),
    )
