"""The sums over years, each one query in standard SQL (ISO/IEC 9075). docs/years.md shows the same ones.

Times of steps are on the recording's clock, which is real time on a real machine.
"""

from __future__ import annotations

from typing import Final

QUERIES: Final = {
    "machines": """
SELECT machine, simulated, EXTRACT(YEAR FROM day) AS year,
       COUNT(DISTINCT day) AS days,
       SUM(recorded_s) / 3600 AS recorded_h,
       SUM(script_s) / 3600 AS running_h,
       SUM(rounds) AS rounds, SUM(rounds_done) AS rounds_done,
       SUM(scripts_failed) AS scripts_failed, SUM(troubles) AS troubles
FROM days
GROUP BY machine, simulated, EXTRACT(YEAR FROM day)
ORDER BY machine, simulated, year
""",
    "errors": """
WITH ran AS (
  SELECT machine, simulated, month, SUM(ran_s) / 3600 AS exerciser_h
  FROM exercisers GROUP BY machine, simulated, month
), erred AS (
  SELECT machine, simulated, month, SUM(errors) AS errors
  FROM (
    SELECT machine, simulated, month, day, MAX(errors) AS errors
    FROM (
      SELECT machine, simulated, month, day, "by", SUM("count") AS errors
      FROM disc_errors GROUP BY machine, simulated, month, day, "by"
    ) AS by_source
    GROUP BY machine, simulated, month, day
  ) AS by_day
  GROUP BY machine, simulated, month
)
SELECT ran.machine, ran.simulated, ran.month, ran.exerciser_h,
       COALESCE(erred.errors, 0) AS errors,
       COALESCE(erred.errors, 0) / NULLIF(ran.exerciser_h, 0) AS errors_per_h
FROM ran LEFT JOIN erred
  ON erred.machine = ran.machine AND erred.simulated = ran.simulated AND erred.month = ran.month
ORDER BY ran.machine, ran.simulated, ran.month
""",
    "steps": """
SELECT machine, simulated, script, step, EXTRACT(YEAR FROM day) AS year,
       COUNT(*) AS runs,
       SUM(CASE WHEN overdue > 0 THEN 1 ELSE 0 END) AS late,
       SUM(CASE WHEN outcome = 'failed' THEN 1 ELSE 0 END) AS failed,
       PERCENTILE_CONT(0.5) WITHIN GROUP (ORDER BY good_s) AS median_s,
       PERCENTILE_CONT(0.95) WITHIN GROUP (ORDER BY good_s) AS of_20_the_slowest_s
FROM (
  SELECT machine, simulated, script, step, day, overdue, outcome,
         CASE WHEN outcome = 'done' AND NOT typed_again THEN took_us / 1000000.0 END AS good_s
  FROM steps WHERE outcome <> 'left out'
) AS timed
GROUP BY machine, simulated, script, step, EXTRACT(YEAR FROM day)
ORDER BY machine, simulated, script, step, year
""",
    "slower": """
WITH latest AS (
  SELECT machine, simulated, MAX(day) AS last_day FROM steps GROUP BY machine, simulated
), timed AS (
  SELECT steps.machine, steps.simulated, steps.script, steps.step, steps.took_us / 1000000.0 AS took_s,
         steps.day > latest.last_day - INTERVAL '30' DAY AS recent
  FROM steps JOIN latest ON latest.machine = steps.machine AND latest.simulated = steps.simulated
  WHERE steps.outcome = 'done' AND NOT steps.typed_again
), by_step AS (
  SELECT machine, simulated, script, step,
         SUM(CASE WHEN recent THEN 0 ELSE 1 END) AS runs_before,
         SUM(CASE WHEN recent THEN 1 ELSE 0 END) AS runs_lately,
         PERCENTILE_CONT(0.5) WITHIN GROUP (ORDER BY CASE WHEN recent THEN NULL ELSE took_s END)
           AS median_before_s,
         PERCENTILE_CONT(0.5) WITHIN GROUP (ORDER BY CASE WHEN recent THEN took_s END) AS median_lately_s
  FROM timed GROUP BY machine, simulated, script, step
)
SELECT machine, simulated, script, step, runs_before, runs_lately, median_before_s, median_lately_s,
       median_lately_s / NULLIF(median_before_s, 0) AS times_as_long
FROM by_step
WHERE runs_before >= 20 AND runs_lately >= 20
ORDER BY times_as_long DESC NULLS LAST, machine, script, step
""",
    "troubles": """
SELECT machine, simulated, trouble, EXTRACT(YEAR FROM day) AS year,
       COUNT(*) AS times, COUNT(DISTINCT day) AS on_days, MIN(day) AS first_day, MAX(day) AS last_day,
       PERCENTILE_CONT(0.5) WITHIN GROUP (ORDER BY on_s / 3600) AS median_h_since_power_on
FROM troubles
GROUP BY machine, simulated, trouble, EXTRACT(YEAR FROM day)
ORDER BY machine, simulated, trouble, year
""",
    "parts": """
SELECT machine, simulated, part, EXTRACT(YEAR FROM day) AS year,
       SUM(ran_s) / 3600 AS ran_h,
       SUM(CASE WHEN carried THEN 0 ELSE 1 END) AS starts,
       SUM(CASE WHEN stopped THEN 1 ELSE 0 END) AS stops
FROM parts
GROUP BY machine, simulated, part, EXTRACT(YEAR FROM day)
ORDER BY machine, simulated, part, year
""",
}
"""By its name: a query over the tables of `exhibit.records.years.tables`."""
SAYS: Final = {
    "machines": "For each machine and year: days, hours, rounds, what failed, troubles.",
    "errors": "Disc errors per hour of an exerciser, for each machine and month.",
    "steps": "How long each step took, for each machine and year.",
    "slower": "Which steps take longer in the last 30 days than before, by their medians; the most first.",
    "troubles": "How often each trouble came, on how many days, and how long after power-on.",
    "parts": "Hours, starts and stops of each part, for each machine and year.",
}
"""By its name: what a query answers."""
