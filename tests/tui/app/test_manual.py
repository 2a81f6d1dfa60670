"""The manual within the app: its topics, a page, and a topic that it does not have."""

from pathlib import Path

import numpy as np
from PIL import Image
from sitting import turns


def test_a_page_of_the_manual_opens_over_the_desk_and_any_key_goes_back(tmp_path: Path) -> None:
    Image.fromarray(np.full((8, 8, 3), 128, np.uint8)).save(tmp_path / "quay.png")
    turns(
        tmp_path,
        ([":", *"manual", "enter"], "manual: topics|sidecar    the JSON file beside each picture"),
        (["x"], "quay.png"),
        ([":", *"manual side", "enter"], "# The sidecar"),
        (["x"], "quay.png"),
        ([":", *"manual quaternion", "enter"], "no topic 'quaternion' in the manual"),
    )
