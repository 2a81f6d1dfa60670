"""The output format of a clip: its own codec if that is a mezzanine codec, else ProRes 422 HQ, or the one requested."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from poise.frames.codecs.clip.facts import Facts


@dataclass(frozen=True)
class Movie:
    """A codec and container to write.

    Attributes:
        title: the name of the codec in messages.
        encoder, options: as FFmpeg names them.
        layout: its pixel format, as FFmpeg names it; empty for that of the source.
        container: the muxer, as FFmpeg names it.
        ending: of its file name.
    """

    title: str
    encoder: str
    layout: str
    container: str = "mov"
    ending: str = ".mov"
    options: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))


def _prores(profile: str, title: str, layout: str = "yuv422p10le") -> Movie:
    return Movie(f"ProRes {title}", "prores_ks", layout, options=MappingProxyType({"profile": profile}))


def _dnxhr(profile: str, layout: str) -> Movie:
    return Movie(f"DNxHR {profile.upper()}", "dnxhd", layout, options=MappingProxyType({"profile": f"dnxhr_{profile}"}))


MOVIES: Mapping[str, Movie] = {
    "prores-hq": _prores("hq", "422 HQ"),
    "prores-4444": _prores("4444", "4444", "yuv444p10le"),
    "dnxhr-hqx": _dnxhr("hqx", "yuv422p10le"),
    "ffv1": Movie("FFV1", "ffv1", "", "matroska", ".mkv", MappingProxyType({"level": "3", "slicecrc": "1"})),
    "h264": Movie("H.264", "libx264", "yuv420p", "mp4", ".mp4", MappingProxyType({"crf": "12"})),
}
"""The choices of `--movie`."""

_PROFILES: Mapping[str, Movie] = {
    "Proxy": _prores("proxy", "422 Proxy"),
    "LT": _prores("lt", "422 LT"),
    "Standard": _prores("standard", "422"),
    "HQ": MOVIES["prores-hq"],
    "4444": MOVIES["prores-4444"],
    "DNXHR LB": _dnxhr("lb", "yuv422p"),
    "DNXHR SQ": _dnxhr("sq", "yuv422p"),
    "DNXHR HQ": _dnxhr("hq", "yuv422p"),
    "DNXHR HQX": MOVIES["dnxhr-hqx"],
    "DNXHR 444": _dnxhr("444", "yuv444p10le"),
}
_CONTAINERS = {"mov": ("mov", ".mov"), "matroska": ("matroska", ".mkv"), "mxf": ("mxf", ".mxf")}


def own(facts: Facts) -> Movie | None:
    """The codec and container of a clip itself; None if the codec is no mezzanine codec, or can't be written there.

    Example:
        own(clip.facts)
    """
    container, ending = _CONTAINERS[facts.container]
    if facts.codec in ("prores", "dnxhd"):
        found = _PROFILES.get(facts.profile)
    elif facts.codec == "v210":
        found = Movie("v210", "v210", "yuv422p10le")
    else:
        found = MOVIES["ffv1"] if facts.codec == "ffv1" else None
    if found is None or (found.encoder != "dnxhd" and container == "mxf"):
        return None
    return Movie(found.title, found.encoder, found.layout, container, ending, found.options)


def movie(facts: Facts, name: str | None) -> Movie:
    """The codec and container that a clip is written in.

    Args:
        name: a key of `MOVIES`; None for its own, or ProRes 422 HQ if `own` is None.

    Raises:
        KeyError: an unknown name.

    Example:
        movie(clip.facts, "ffv1").ending
    """
    found = MOVIES[name] if name else own(facts) or MOVIES["prores-hq"]
    if facts.channels == 4 and found.layout == "yuv444p10le" and found.encoder == "prores_ks":
        return replace(found, layout="yuva444p10le")
    return found
