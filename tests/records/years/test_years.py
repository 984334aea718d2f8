"""`exhibit export` and `exhibit years`: the tables say what the index says, and the sums add up its rows."""

from __future__ import annotations

import builtins
import json
import re
import statistics
from pathlib import Path

import pytest
from click.testing import CliRunner

from exhibit.commands.cli import main
from exhibit.commands.engineer.years import SUMS
from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault
from exhibit.records.index.asking import Index
from exhibit.records.index.rows import ErrorsRow, JobRow, PartRow, StepRow, TroubleRow
from exhibit.records.years import library
from exhibit.records.years.asking import ask
from exhibit.records.years.library import connect
from exhibit.records.years.queries import QUERIES, SAYS
from exhibit.records.years.tables import TABLES, columns
from exhibit.records.years.writing import export, file_name
from tests.records.index.written import received, script, write

EMPTY = {"transfers", "packs", "notes", "hands_on", "gaps", "line_errors", "garbled", "readings"}
PAGE = Path(__file__).resolve().parents[3] / "docs" / "years.md"


def day_of(place: Path, date: str, add_s: float, errors: int = 0, simulated: bool = False) -> None:
    """A day with 30 rounds, an exerciser for an hour, a trouble and so many disc errors."""
    facts = [(0.0, kinds.PartStarted(part="drive", by="opening.start")), received("READY\r\n", 0.5)]
    facts.append((1.0, kinds.ExerciserBegun(exerciser="shuttle", job="1", part="drive", ends_us=0)))
    for round_ in range(1, 31):
        facts += script("round", round_, 100.0 * round_, ("add", add_s), ("wait", 3.0))
    for number in range(errors):
        facts.append((3300.0 + number, kinds.DiscErrorsCounted(by="board.errors", count=1, stands_at=1.0)))
        facts.append((3300.0 + number, kinds.DiscErrorsCounted(by="disc-error", count=1, entry=f"E{number}")))
    facts.append((3400.0, kinds.TroubleRaised(trouble="disc-error", line="E", words={}, do={})))
    facts.append((3601.0, kinds.ExerciserEnded(exerciser="shuttle", job="1", by="ENDED")))
    facts.append((3660.0, kinds.PartStopped(part="drive", by="closing.stop")))
    kind = "simulated" if simulated else "real"
    name = f"heron-{date}-{kind}.exhibit"
    changed = {"machine_is": kind, "title": {"en": "The Heron"}}
    path = write(place / name, *facts, wall=f"{date}T09:00:00+01:00", **changed)
    assert path.exists()


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A folder of recordings and one of their tables: the machine got slower, and its disc erred more."""
    recordings, tables = tmp_path_factory.mktemp("recordings"), tmp_path_factory.mktemp("tables")
    for date, add_s, errors in [("2025-06-01", 2.0, 1), ("2025-06-02", 2.1, 0), ("2026-01-10", 2.5, 3)]:
        day_of(recordings, date, add_s, errors)
    day_of(recordings, "2026-01-11", 9.0, simulated=True)
    with Index.open(recordings) as index:
        export([index], tables)
    return recordings, tables


def rows_of(tables: Path, query: str) -> list[dict]:
    names, rows = ask(tables, query)
    return [dict(zip(names, row, strict=True)) for row in rows]


def test_each_table_has_the_rows_of_the_index_with_whose_they_are(season):
    recordings, tables = season
    with Index.open(recordings) as index, connect() as database:
        for name, row in TABLES.items():
            files = [*(tables / name).glob("*.parquet")]
            if not files:
                assert name in {
                    "transfers",
                    "packs",
                    "notes",
                    "hands_on",
                    "gaps",
                    "line_errors",
                    "garbled",
                    "readings",
                }
                continue
            found = database.execute(f"SELECT * FROM read_parquet('{tables / name}/*.parquet')")
            assert [one[0] for one in found.description] == [*columns(row)]
            if name not in ("recordings", "days"):
                assert len(found.fetchall()) == len(index.rows(row)), name
    assert sorted(path.name for path in (tables / "steps").iterdir()) == [
        "heron-2025-06.parquet",
        "heron-2026-01.parquet",
        "simulated-heron-2026-01.parquet",
    ]


def test_a_simulated_machine_is_never_added_to_the_real_one(season):
    assert [
        (row["machine"], row["simulated"], row["year"], row["days"]) for row in rows_of(season[1], "machines")
    ] == [
        ("heron", False, 2025, 2),
        ("heron", False, 2026, 1),
        ("heron", True, 2026, 1),
    ]


def test_errors_per_exerciser_hour_count_each_error_once(season):
    """Readings and error logs report the same errors: of a day, the higher count is taken."""
    recordings, tables = season
    [june, january] = [row for row in rows_of(tables, "errors") if not row["simulated"]]
    with Index.open(recordings) as index:
        ran_h = sum(row.ran_s for row in index.rows(JobRow) if row.at[:7] == "2025-06") / 3600
        assert len(index.rows(ErrorsRow)) == 8
    assert (june["exerciser_h"], june["errors"]) == (pytest.approx(ran_h), 1)
    assert (january["errors"], january["errors_per_h"]) == (3, pytest.approx(3.0))


def test_step_times_are_those_of_the_statistics_module(season):
    recordings, tables = season
    [found] = [row for row in rows_of(tables, "steps") if (row["step"], row["year"]) == ("add", 2025)]
    with Index.open(recordings) as index:
        took_s = [row.took_us / 1e6 for row in index.rows(StepRow, step="add") if row.at[:4] == "2025"]
    assert (found["runs"], found["failed"]) == (len(took_s), 0)
    assert found["median_s"] == pytest.approx(statistics.median(took_s))
    assert found["of_20_the_slowest_s"] == pytest.approx(
        statistics.quantiles(took_s, n=20, method="inclusive")[-1]
    )


def test_the_step_that_got_slower_comes_first_and_few_runs_say_nothing(season):
    found = [row for row in rows_of(season[1], "slower")]
    assert [(row["step"], row["simulated"]) for row in found] == [("add", False), ("wait", False)]
    assert found[0]["times_as_long"] == pytest.approx(2.5 / 2.05)
    assert found[1]["times_as_long"] == pytest.approx(1.0)


def test_troubles_and_parts_are_those_of_the_index(season):
    recordings, tables = season
    with Index.open(recordings) as index:
        troubles, parts = index.rows(TroubleRow), index.rows(PartRow)
    assert sum(row["times"] for row in rows_of(tables, "troubles")) == len(troubles)
    assert rows_of(tables, "troubles")[0]["median_h_since_power_on"] == pytest.approx(3400 / 3600)
    assert sum(row["ran_h"] for row in rows_of(tables, "parts")) == pytest.approx(
        sum(row.ran_s for row in parts) / 3600
    )
    assert sum(row["starts"] for row in rows_of(tables, "parts")) == len(parts)


def test_the_page_shows_the_very_queries():
    shown = [block.strip() for block in re.findall(r"```sql\n(.*?)```", PAGE.read_text(), re.S)]
    assert [query for query, sql in QUERIES.items() if sql.strip() not in shown] == []


def test_the_page_names_each_table_and_no_other():
    named = re.findall(r"^\| `([a-z_]+)` \|", PAGE.read_text(), re.M)
    assert named == [*TABLES]


def test_a_month_that_is_exported_again_replaces_what_was_there(tmp_path):
    recordings, tables = tmp_path / "recordings", tmp_path / "tables"
    recordings.mkdir()
    day_of(recordings, "2025-06-01", 2.0, errors=2)
    with Index.open(recordings) as index:
        export([index], tables)
    assert (tables / "disc_errors" / file_name("heron", "2025-06")).exists()
    for path in recordings.glob("*.exhibit"):
        path.unlink()
    day_of(recordings, "2025-06-03", 2.0)
    with Index.open(recordings) as index:
        assert export([index], tables)["days"] == 1
    assert not (tables / "disc_errors" / file_name("heron", "2025-06")).exists()
    assert rows_of(tables, "machines")[0]["days"] == 1


def test_a_strangers_machine_has_a_plain_file_name():
    assert file_name("../../Heron\n'; DROP", "2025-06") == "heron-drop-2025-06.parquet"
    assert file_name("\u202e", "") == "machine-unknown.parquet"


def test_little_memory_is_enough_since_the_rest_is_put_on_the_disc(season):
    for query in QUERIES:
        assert ask(season[1], query, memory="64MB") == ask(season[1], query)


def test_the_commands_print_a_table_or_json(season, tmp_path):
    recordings, _ = season
    said = CliRunner().invoke(main, ["export", f"{recordings}", "--to", f"{tmp_path}"])
    assert said.exit_code == 0, said.output
    assert "        4  days" in said.output
    for about in SUMS:
        said = CliRunner().invoke(main, ["years", f"{tmp_path}", "--about", about])
        assert said.exit_code == 0, said.output
        assert said.output.startswith(SAYS[about])
        said = CliRunner().invoke(main, ["years", f"{tmp_path}", "--about", about, "--json"])
        assert all(json.loads(line)["machine"] == "heron" for line in said.output.splitlines())


def test_the_command_offers_each_sum():
    assert [*QUERIES] == [*SUMS] == [*SAYS]


def test_without_tables_it_is_said_how_to_make_them(tmp_path):
    with pytest.raises(SetUpFault, match="exhibit export"):
        ask(tmp_path, "machines")


def test_tables_that_are_none_are_a_sentence(tmp_path):
    (tmp_path / "days").mkdir()
    (tmp_path / "days" / "heron-2025-06.parquet").write_text("nothing of the kind")
    with pytest.raises(SetUpFault, match="can't be read"):
        ask(tmp_path, "machines")


def test_without_duckdb_it_is_said_how_to_install_it(monkeypatch):
    imported = builtins.__import__

    def none(name, *arguments, **more):
        if name == "duckdb":
            raise ImportError(name)
        return imported(name, *arguments, **more)

    monkeypatch.setattr(builtins, "__import__", none)
    with pytest.raises(SetUpFault, match=r"pip install .\.\[years\]"):
        library.connect()
