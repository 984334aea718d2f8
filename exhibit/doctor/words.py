"""All that can be found, in words: what it is; and if it is wrong, what it means and what mends it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from exhibit.doctor.words_de import GERMAN

ENGLISH: Final[Mapping[str, tuple[str, ...]]] = {
    "python": ("exhibit {version} on Python {python}",),
    "python old": (
        "Python {python} is too old for exhibit {version}",
        "It needs 3.11 or newer.",
        "sudo apt-get install python3",
    ),
    "packages": ("The packages are the {count} that were tested, as far as they are installed",),
    "packages differ": (
        "Other versions than those that were tested are installed: {packages}",
        "Nobody has tried exhibit with them. The tested ones are in brackets.",
        "pip install --no-deps --only-binary :all: --require-hashes -r runtime.txt",
    ),
    "lock missing": ("Which versions of the packages were tested isn't known here",),
    "browser": ("A browser is installed: {browser}",),
    "browser missing": (
        "No browser is installed",
        "The screen beside the machine stays dark.",
        "sudo apt-get install chromium xserver-xorg xinit curl",
    ),
    "browser not needed": ("No browser is installed: pages are opened on other computers",),
    "port not named": ("The serial port wasn't looked at: name it with --line",),
    "port is network": ("The line {line} is a network adapter, which is not asked for anything here",),
    "port there": ("The serial port {line} is there, as {device}",),
    "port missing": (
        "There is no serial port {line}",
        "The adapter isn't plugged in, or has another name. Adapters that are there: {there}.",
        "ls -l /dev/serial/by-id",
    ),
    "port is none": (
        "{line} is no serial port",
        "Something else has that name, so nothing can come from the machine.",
        "ls -l {line} /dev/serial/by-id",
    ),
    "port may be used": ("The user {user} can use {line}",),
    "port needs group": (
        "The user {user} can't use {line}: it belongs to the group {group}",
        "Nothing can come from the machine or be typed at it. Afterwards sign in again or start the "
        "service again.",
        "sudo usermod -aG {group} {user}",
    ),
    "port barred": (
        "The user {user} can't use {line}, and no group can",
        "Nothing can come from the machine or be typed at it. The udev rule gives the port a group.",
        "sudo udevadm control --reload && sudo udevadm trigger --subsystem-match=tty",
    ),
    "port held by bridge": ("{line} is open in exhibit's own bridge: {holder}",),
    "port held": (
        "{line} is open in another program: {holder}",
        "If two programs read one port, each gets only part of what the machine sends.",
        "sudo kill {pid}",
    ),
    "port free": ("No other program has {line} open",),
    "port free as seen": ("No program of yours has {line} open; run this with sudo to see those of others",),
    "port is console": (
        "This computer's own messages go to {line}",
        "They would be typed at the machine. Take `console={device},...` out of the file with the "
        "kernel's options (on many boards /boot/firmware/cmdline.txt), and start the computer again.",
        "sudo systemctl mask --now serial-getty@{device}.service",
    ),
    "latency": ("The adapter at {line} hands on what comes within {ms} ms",),
    "latency long": (
        "The adapter at {line} gathers what comes for {ms} ms",
        "Each character that is typed waits so much longer for its echo. The udev rule sets it for good.",
        "echo 1 | sudo tee /sys/bus/usb-serial/devices/{device}/latency_timer",
    ),
    "room": ("There are {free_mb} MB free for recordings in {folder}",),
    "room scarce": (
        "Only {free_mb} MB are free for recordings in {folder}",
        "On a full disc the scripts end, and in the end nothing is recorded.",
        "sudo du -xh --max-depth=2 / | sort -h | tail",
    ),
    "room for days": (
        "There is room for {days} more days like the fullest of late ({a_day_kb} kB) in {folder}",
    ),
    "room for few days": (
        "There is room for only {days} more days like the fullest of late ({a_day_kb} kB) in {folder}",
        "On a full disc the scripts end, and in the end nothing is recorded. Copy the oldest recordings to "
        "another computer, look whether they arrived, and delete them here.",
        "ls -ltr {folder} | head -n 20",
    ),
    "recordings unreadable": (
        "The folder of recordings {folder} can't be read by you",
        "So for how many days there is room isn't known.",
        "sudo exhibit doctor",
    ),
    "wear": ("The memory {device} says that at most {percent}% of its life is used",),
    "worn": (
        "The memory {device} says that up to {percent}% of its life is used",
        "It may soon take nothing more. Get a new one, and set it up from a copy, as docs/service.md says.",
        "sudo tar -C / -czf copy.tgz var/lib/exhibit etc/exhibit",
    ),
    "time": ("The clock says {now}",),
    "time went back": (
        "The clock says {now}, but the last recording was written at {last}",
        "Recordings stay in order, but their dates are wrong, and so are the hours of the day.",
        'sudo date --set "YYYY-MM-DD HH:MM"',
    ),
    "zone": ("The time zone is {zone} ({offset})",),
    "zone missing": (
        "No time zone is set",
        "The day would begin and end by Greenwich's clock. `timedatectl list-timezones` lists them.",
        "sudo timedatectl set-timezone ZONE",
    ),
    "clock not asked": ("Who sets the clock isn't known: systemd doesn't run here",),
    "clock synchronised": ("The clock is set by a time server",),
    "clock synchronised without battery": (
        "The clock is set by a time server; without one it would go on from when the computer was last on",
    ),
    "clock of its own": (
        "No time server sets the clock, but it has a battery; compare it with a watch now and then",
    ),
    "clock by nobody": (
        "No time server sets the clock, and it has no battery",
        "After each start it goes on from when the computer was last on. Compare it with a watch, and "
        "set it.",
        'sudo date --set "YYYY-MM-DD HH:MM"',
    ),
    "page port free": ("Port {port} is free for the visitors' page",),
    "page served": ("The visitors' page is served at port {port}",),
    "page port taken": (
        "Another program has port {port}",
        "The visitors' page can't be served there. This shows which program it is; end it, or give the page "
        "another --port.",
        "sudo ss -ltnp sport = :{port}",
    ),
    "no systemd": ("Services weren't looked at: systemd doesn't run here",),
    "no service": ("exhibit isn't set up as a service here",),
    "service runs": ("The service {unit} runs; started again by itself {restarts} times",),
    "service starting": (
        "The service {unit} is being started; before that {restarts} times by itself",
        "If it says so again in a minute, it can't start. This says why.",
        "journalctl -u {unit} -n 50",
    ),
    "service off": ("The service {unit} is switched off",),
    "service stopped": (
        "The service {unit} is stopped",
        "It should run whenever the computer does.",
        "sudo systemctl start {unit}",
    ),
    "service failed": (
        "The service {unit} has failed ({why}), after {restarts} starts",
        "It isn't started again by itself. Look at the machine first; `journalctl -u {unit} -n 50` says why.",
        "sudo systemctl reset-failed {unit} && sudo systemctl start {unit}",
    ),
    "folder": ("The machine's folder {folder} passes the check",),
    "folder wrong": (
        "The machine's folder {folder} has {count} mistakes",
        "No script runs until they are corrected. This lists them.",
        "exhibit check {folder}",
    ),
    "folder unreadable": (
        "{why}",
        "Without the machine's folder {folder} nothing runs.",
        "ls -la {folder}",
    ),
    "folder not named": ("The machine's folder wasn't looked at: name it, as in `exhibit doctor FOLDER`",),
    "no secret wanted": ("The scripts need no secret",),
    "secrets there": ("All secrets that the scripts need are there: {count}",),
    "secrets missing": (
        "Secrets of the scripts are missing: {names}",
        'Scripts that sign on don\'t begin. Add a line for each, such as: {example} = "the word"',
        "sudo nano {file}",
    ),
    "secrets open": (
        "The file of secrets {file} isn't {user}'s alone",
        "exhibit doesn't read it. If others could have read it, change the secrets too.",
        "sudo chown {user} {file} && sudo chmod 600 {file}",
    ),
    "secrets unseen": (
        "The file of secrets {file} is there; run this with sudo to see whether any is missing",
    ),
    "secrets unreadable": (
        "The file of secrets {file} can't be understood",
        'Scripts that sign on don\'t begin. It needs one line for each secret, such as: keeper = "the word"',
        "sudo nano {file}",
    ),
    "no process left": ("No process of exhibit is left from an earlier start",),
    "process left": (
        "A process of exhibit is left whose starter has gone: `exhibit {command}`, process {pid}",
        "It may hold the port, or show visitors an old page. This ends it in good order.",
        "sudo kill {pid}",
    ),
    "all well": ("All is well.",),
    "to do": ("To do: {count}",),
}
MARKS: Final[Mapping[str, tuple[str, str, str, str]]] = {
    "en": ("ok", "TO DO", "It means", "Run"),
    "de": ("gut", "ZU TUN", "Das bedeutet", "Befehl"),
}
"""What stands before a line that is well, one that isn't, what it means, and the command."""
IN_LANGUAGE: Final[Mapping[str, Mapping[str, tuple[str, ...]]]] = {"en": ENGLISH, "de": GERMAN}
