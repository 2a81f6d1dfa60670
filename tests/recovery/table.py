"""Prints how near auto and plainer ways bring degraded photographs: `python tests/recovery/table.py [RECORDING...]`."""

import sys
import warnings

from baselines import WAYS
from degradations import DEGRADATIONS, RECORDINGS
from photographs import photographs
from recovered import cases, figures


def main(*recordings: str) -> None:
    pictures = list(photographs())
    every = cases(pictures, recordings or RECORDINGS, WAYS)
    print(f"{len(pictures)} photographs; CIEDE2000 to the original: mean, 95th percentile, worst;")
    print("share made worse than nothing by over 1; mean CIEDE2000 to where the untouched one lands")
    for degradation in [degrade.__name__.replace("_", " ") for degrade in DEGRADATIONS]:
        for recording in recordings or RECORDINGS:
            print(f"\n{degradation}, {recording}")
            for way in WAYS:
                one = figures(every, way, degradation, recording)
                print(f"  {way:20}{one.mean:7.2f}{one.most:7.2f}{one.worst:7.2f}{one.spoilt:7.0%}{one.apart:7.2f}")


if __name__ == "__main__":
    warnings.simplefilter("ignore")
    main(*sys.argv[1:])
