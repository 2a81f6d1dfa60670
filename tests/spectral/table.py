"""Prints the figures of auto beside each estimator alone: `python tests/spectral/table.py [SEED] [LIGHT...]`."""

import sys
import warnings

import numpy as np
from figures import errors, found, mean_95_worst
from scenes import LIGHTS, scenes


def main(seed: int = 1, *lights: str) -> None:
    rendered = list(scenes(lights or LIGHTS, seed))
    told = [found(scene) for scene in rendered]
    by = errors(rendered, told)
    kinds = dict.fromkeys(scene.kind for scene in rendered)
    print(f"{len(rendered)} scenes under {', '.join(lights or LIGHTS)}; degrees off the true light\n")
    print(f"{'':16}{'mean':>8}{'95th':>8}{'worst':>8}   mean of " + ", ".join(kinds))
    for name, values in by.items():
        each = [values[[scene.kind == kind for scene in rendered]].mean() for kind in kinds]
        print(f"{name:16}" + "".join(f"{value:8.2f}" for value in mean_95_worst(values)), end="   ")
        print(" ".join(f"{value:8.2f}" for value in each))
    print(f"\n{'confidence':16}{'scenes':>8}{'stated':>8}{'within 3 degrees':>18}")
    sure = np.array([light.confidence for light in told])
    whole = np.array([light.share for light in told]) == 1
    for low, high in ((0, 0.25), (0.25, 0.5), (0.5, 0.75), (0.75, 1.01)):
        some = (sure >= low) & (sure < high) & whole
        if some.any():
            close, stated = 100 * np.mean(by["auto"][some] < 3), 100 * sure[some].mean()
            print(f"{100 * low:3.0f} to {100 * min(high, 1):3.0f} %    {some.sum():8}{stated:7.0f}%{close:17.0f}%")
    print(f"held back{(~whole).sum():15}")


if __name__ == "__main__":
    warnings.simplefilter("ignore")
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1, *sys.argv[2:])
