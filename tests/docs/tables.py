"""The tables of the manual that the program itself knows; run as a script, it writes them into the manual anew."""

import re
from collections.abc import Callable, Mapping
from pathlib import Path

from poise.correction import CONTROLS, Control
from poise.correction.controls import MATTE_CONTROLS
from poise.delivery.limits import SETS, UNITS
from poise.delivery.limits import load as load_limits
from poise_tui.actions import ACTIONS, COLUMNS, MOVES, column, column_at
from poise_tui.commandline import COMMANDS
from poise_tui.keys.help import WITH_OWN_DESK
from poise_tui.keys.keymap import keymap

MANUAL = Path(__file__).parents[2] / "core" / "poise" / "manual"


def controls_table(controls: tuple[Control, ...] = CONTROLS, where: str = "correction") -> str:
    def number(value: float) -> str:
        return f"{value:.3f}".rstrip("0").rstrip(".")

    rows = [
        f"| `{c.path}` | {c.name} | {c.unit} | {number(c.neutral)} | {number(c.low)} .. {number(c.high)} |\n"
        for c in controls
    ]
    return f"| key below `{where}` | what | unit | neutral | limits |\n|---|---|---|---|---|\n" + "".join(rows)


def keys_table() -> str:
    keys = keymap()

    def shown(name: str) -> str:
        return " ".join(f"`{key}`" for key in keys.keys[name])

    rows = ["| name | keys | what it does |\n|---|---|---|\n"]
    for name in COLUMNS:
        three = " ".join(shown(f"{name}.{move}") for move in MOVES)
        others = [f"; {mode}: {column_at(name, mode)}" for mode in WITH_OWN_DESK if column_at(name, mode)]
        does = column(name) + "".join(others)
        rows.append(f"| {', '.join(f'`{name}.{move}`' for move in MOVES)} | {three} | {does} |\n")
    rows += [f"| `{one.name}` | {shown(one.name)} | {one.does} |\n" for one in ACTIONS if one.group != "desk"]
    return "".join(rows)


def app_commands_table() -> str:
    rows = [f"| `{command.usage}` | {command.does} |\n" for command in COMMANDS]
    return "| command | what it does |\n|---|---|\n" + "".join(rows)


def limits_table() -> str:
    sets = [load_limits(name) for name in SETS]
    rows = [f"| limit | in | {' | '.join(one.name for one in sets)} | source |\n|---|---|{'---|' * (len(SETS) + 1)}\n"]
    for name, unit in UNITS.items():
        found = [one[name] for one in sets]
        figures = " | ".join(f"{one.value:g}" if one else "-" for one in found)
        sources = "; ".join(dict.fromkeys(one.source + " (caution)" * one.caution for one in found if one))
        rows.append(f"| `{name}` | {unit} | {figures} | {sources or '-'} |\n")
    return "".join(rows)


GENERATED: Mapping[str, Callable[[], str]] = {
    "controls": controls_table,
    "matte controls": lambda: controls_table(MATTE_CONTROLS, "mattes[]"),
    "keys": keys_table,
    "app commands": app_commands_table,
    "limits": limits_table,
}
"""By the name of the block, `<!-- NAME -->` to `<!-- end -->`."""


def renewed(text: str) -> str:
    """A page with its generated tables as the program has them now."""
    for name, table in GENERATED.items():
        text = re.sub(
            rf"(<!-- {name} -->\n).*?(<!-- end -->)",
            lambda found, table=table: found[1] + table() + found[2],
            text,
            flags=re.DOTALL,
        )
    return text


if __name__ == "__main__":
    for path in MANUAL.glob("*.md"):
        path.write_text(renewed(path.read_text(encoding="utf-8")), encoding="utf-8")
