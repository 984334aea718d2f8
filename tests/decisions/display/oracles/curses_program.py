"""An ncurses program that redraws at random: what ncurses makes of it is up to the terminal's entry.

Usage: python curses_program.py FIRST_PICK STEPS
"""

import curses
import random
import sys


def draw(window: "curses.window", pick: random.Random, steps: int) -> None:
    rows, columns = window.getmaxyx()
    curses.curs_set(0) if curses.tigetstr("civis") else None
    window.idlok(True)
    window.idcok(True)
    window.scrollok(True)
    for step in range(steps):
        row, column = pick.randrange(rows - 1), pick.randrange(columns - 20)
        window.move(row, column)
        act = pick.randrange(10)
        if act == 0:
            window.insdelln(pick.choice((-3, -1, 1, 2)))
        elif act == 1:
            for _ in range(pick.randrange(1, 6)):
                window.delch(row, column)
        elif act == 2:
            window.insstr(row, column, "inserted " * pick.randrange(1, 4))
        elif act == 3:
            window.clrtoeol()
        elif act == 4:
            window.hline(row, 0, curses.ACS_HLINE, columns - 1)
            window.vline(0, column, curses.ACS_VLINE, rows - 1)
        elif act == 5:
            window.setscrreg(2, rows - 3)
            window.scroll(pick.choice((-2, -1, 1, 3)))
            window.setscrreg(0, rows - 1)
        elif act == 6:
            window.addstr(row, column, "-" * 18)
            window.addstr(row, 0, f"row {row}\tat step {step}"[: columns - 1])
        elif act == 7:
            window.clrtobot()
        else:
            style = pick.choice((curses.A_NORMAL, curses.A_BOLD, curses.A_REVERSE, curses.A_UNDERLINE))
            window.addstr(row, column, pick.choice(("high water", "low water", "tide", "gate")), style)
        window.refresh()


if __name__ == "__main__":
    curses.wrapper(draw, random.Random(sys.argv[1]), int(sys.argv[2]))
