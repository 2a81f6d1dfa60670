"""Hostile CLF files: each becomes a transform, or is refused in one line; whatever is in it.

More by hand: POISE_THOROUGH=100 pytest tests/fuzz/test_clf.py
"""

from random import Random

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from mutations import mutated
from thorough import many

from poise.colour.clf import parse
from poise.correction import CODED, Correction, Light, Tone
from poise.errors import PoiseError
from poise.exchange.clf import About, clf
from poise.frames.frame import Depth

MANY = many(150, 3000)
DEPTHS = 'inBitDepth="32f" outBitDepth="32f"'
PIECES = (
    f'<LUT1D {DEPTHS}><Array dim="3 1">0 0.4 1</Array></LUT1D>',
    f'<LUT3D {DEPTHS} interpolation="tetrahedral"><Array dim="2 2 2 3">{"0 0.5 1 " * 8}</Array></LUT3D>',
    f'<Matrix {DEPTHS}><Array dim="3 4">1 0 0 0.1 0 1 0 0 0 0 1 0</Array></Matrix>',
    f"<Range {DEPTHS}><minInValue>0</minInValue><minOutValue>0</minOutValue></Range>",
    f'<Log {DEPTHS} style="cameraLogToLin"><LogParams base="10" linSideBreak="0.1" logSideSlope="0.2"/></Log>',
    f'<Exponent {DEPTHS} style="moncurveRev"><ExponentParams exponent="2.4" offset="0.05" channel="R"/></Exponent>',
    f"<ASC_CDL {DEPTHS}><SOPNode><Slope>1 1 1</Slope><Offset>0 0 0</Offset><Power>1 1 1</Power></SOPNode></ASC_CDL>",
    "<Description>fog until nine</Description>",
    "<Info><AppRelease>poise</AppRelease></Info>",
    "<!-- quay -->",
)
WORDS = ('dim="', "0", "1e38", "-1e38", "nan", "inf", "32f", "16i", "Fwd", "antiLog2", '"', "<", "]]>", "65536", "\0")


def whole(chance: Random) -> bytes:
    nodes = "".join(chance.choices(PIECES, k=chance.randint(1, 5)))
    for _ in range(chance.choice((0, 0, 1, 1, 2, 4))):
        at = chance.randrange(len(nodes))
        nodes = nodes[:at] + chance.choice(WORDS) + nodes[at + chance.choice((0, 1, 3)) :]
    head = f'<?xml version="1.0"?><ProcessList id="a" compCLFversion="{chance.choice(("3", "3.0", "3.0", "2.0"))}">'
    return f"{head}{nodes}</ProcessList>".encode()


OURS = clf(Correction(light=Light(0.3, 10), tone=Tone(0.2)), CODED, Depth.U8, About("a", "quay", "poise"))
OURS_SHORT = OURS[:1500] + OURS[-300:]


@settings(max_examples=MANY, deadline=20_000)
@given(number=st.integers(0, 2**63))
def test_a_hostile_clf_is_taken_or_refused_in_one_line(number: int) -> None:
    chance = Random(number)
    content = whole(chance)
    if chance.randrange(3) == 0:
        content = mutated([content, OURS_SHORT], number)
    try:
        made = parse(content)
    except PoiseError as fault:
        told = str(fault)
        assert told.isprintable()
        assert len(told) < 300
        return
    values = made(np.linspace(-0.5, 2, 30).reshape(10, 3))
    assert values.shape == (10, 3)
