"""Makes the parts of DEVELOPERS.md that come from the code's own tables.

python -m tests.architecture.guide_parts     writes them into DEVELOPERS.md
"""

from __future__ import annotations

import ast
import inspect
from importlib import import_module
from pathlib import Path

from exhibit.decisions.session.states import TRANSITIONS
from exhibit.facts.kinds import ALL_KINDS

LAYERS = ("facts", "decisions", "streams", "edges", "simulator", "sums")
GUIDE = Path(__file__).resolve().parents[2] / "DEVELOPERS.md"


def layer_list() -> str:
    """Each layer, what it is, and what each of its modules is for, in the modules' own words."""
    rows = []
    for layer in LAYERS:
        package = import_module(f"exhibit.{layer}")
        rows += [f"**`exhibit/{layer}`**: {_first_line(package)}", "", "| module | for |", "|---|---|"]
        for path in sorted(Path(package.__path__[0]).glob("*.py")):
            if path.stem != "__init__":
                text = ast.get_docstring(ast.parse(path.read_text())) or ""
                rows.append(f"| `{path.stem}` | {_paragraph(text)} |")
        rows.append("")
    return "\n".join(rows)


def _first_line(thing: object) -> str:
    return _paragraph(inspect.getdoc(thing) or "")


def _paragraph(text: str) -> str:
    return " ".join(text.split("\n\n")[0].split()).replace("|", "\\|")


def fact_list() -> str:
    """Every kind of fact: its name on disc, what it means, what it holds."""
    rows = ["| fact | means | holds |", "|---|---|---|"]
    for name, kind in ALL_KINDS.items():
        meaning = " ".join((inspect.getdoc(kind) or "").split())
        holds = ", ".join(f"`{field}`" for field in kind.__struct_fields__)
        rows.append(f"| `{name}` | {meaning} | {holds or 'nothing'} |")
    return "\n".join(rows)


def state_diagram() -> str:
    """The session's states and moves, as a Mermaid diagram."""
    lines = ["```mermaid", "stateDiagram-v2", "    [*] --> idle"]
    for (state, move), then in TRANSITIONS.items():
        lines.append(f"    {_id(state)} --> {_id(then)}: {move}")
    names = {state: None for pair, then in TRANSITIONS.items() for state in (pair[0], then)}
    lines += [f"    {_id(name)}: {name}" for name in names if " " in name]
    return "\n".join([*lines, "```"])


def _id(state: str) -> str:
    return state.replace(" ", "_")


PARTS = {"layers": layer_list, "facts": fact_list, "states": state_diagram}


def with_parts(text: str) -> str:
    """The guide with each part between its two marks made anew."""
    for name, make in PARTS.items():
        begin, end = f"<!-- {name}: made from the code -->", f"<!-- end of {name} -->"
        before, _, rest = text.partition(begin)
        _, _, after = rest.partition(end)
        text = f"{before}{begin}\n{make()}\n{end}{after}"
    return text


if __name__ == "__main__":
    GUIDE.write_text(with_parts(GUIDE.read_text()))
