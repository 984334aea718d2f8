"""The German of words.py."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

GERMAN: Final[Mapping[str, tuple[str, ...]]] = {
    "python": ("exhibit {version} mit Python {python}",),
    "python old": (
        "Python {python} ist zu alt für exhibit {version}",
        "Es braucht 3.11 oder neuer.",
        "sudo apt-get install python3",
    ),
    "packages": ("Die Pakete sind die {count} geprüften, soweit sie installiert sind",),
    "packages differ": (
        "Andere Versionen als die geprüften sind installiert: {packages}",
        "Mit ihnen hat niemand exhibit ausprobiert. Die geprüften stehen in Klammern.",
        "pip install --no-deps --only-binary :all: --require-hashes -r runtime.txt",
    ),
    "lock missing": ("Welche Versionen der Pakete geprüft wurden, ist hier nicht bekannt",),
    "browser": ("Ein Browser ist installiert: {browser}",),
    "browser missing": (
        "Kein Browser ist installiert",
        "Der Bildschirm neben der Maschine bleibt dunkel.",
        "sudo apt-get install chromium xserver-xorg xinit curl",
    ),
    "browser not needed": ("Kein Browser ist installiert: Seiten werden auf anderen Rechnern geöffnet",),
    "port not named": ("Der serielle Anschluss wurde nicht geprüft: Nennen Sie ihn mit --line",),
    "port is network": ("Die Leitung {line} ist ein Netzwerkadapter, der hier nichts gefragt wird",),
    "port there": ("Der serielle Anschluss {line} ist da, als {device}",),
    "port missing": (
        "Es gibt keinen seriellen Anschluss {line}",
        "Der Adapter ist nicht eingesteckt oder heißt anders. Vorhandene Adapter: {there}.",
        "ls -l /dev/serial/by-id",
    ),
    "port is none": (
        "{line} ist kein serieller Anschluss",
        "Etwas anderes heißt so, also kann von der Maschine nichts kommen.",
        "ls -l {line} /dev/serial/by-id",
    ),
    "port may be used": ("{user} kann {line} benutzen",),
    "port needs group": (
        "{user} kann {line} nicht benutzen: Der Anschluss gehört der Gruppe {group}",
        "Von der Maschine kann nichts kommen und dort nichts getippt werden. Melden Sie sich "
        "danach neu an, oder "
        "starten Sie den Dienst neu.",
        "sudo usermod -aG {group} {user}",
    ),
    "port barred": (
        "{user} kann {line} nicht benutzen, und keine Gruppe kann es",
        "Von der Maschine kann nichts kommen und dort nichts getippt werden. Die udev-Regel gibt "
        "dem Anschluss eine "
        "Gruppe.",
        "sudo udevadm control --reload && sudo udevadm trigger --subsystem-match=tty",
    ),
    "port held by bridge": ("{line} ist in der Bridge von exhibit selbst offen: {holder}",),
    "port held": (
        "{line} ist in einem anderen Programm offen: {holder}",
        "Wenn zwei Programme einen Anschluss lesen, bekommt jedes nur einen Teil.",
        "sudo kill {pid}",
    ),
    "port free": ("Kein anderes Programm hat {line} offen",),
    "port free as seen": (
        "Keines Ihrer Programme hat {line} offen; die der anderen sehen Sie, wenn Sie dies mit sudo starten",
    ),
    "port is console": (
        "Die Meldungen dieses Rechners gehen an {line}",
        "Sie würden an der Maschine getippt. Nehmen Sie `console={device},...` aus der Datei mit "
        "den Optionen des "
        "Kernels (oft /boot/firmware/cmdline.txt), und starten Sie den Rechner neu.",
        "sudo systemctl mask --now serial-getty@{device}.service",
    ),
    "latency": ("Der Adapter an {line} gibt innerhalb von {ms} ms weiter, was kommt",),
    "latency long": (
        "Der Adapter an {line} sammelt {ms} ms lang, was kommt",
        "Jedes getippte Zeichen wartet so viel länger auf sein Echo. Die udev-Regel stellt das auf "
        "Dauer ein.",
        "echo 1 | sudo tee /sys/bus/usb-serial/devices/{device}/latency_timer",
    ),
    "room": ("Für Aufzeichnungen in {folder} sind {free_mb} MB frei",),
    "room scarce": (
        "Für Aufzeichnungen in {folder} sind nur {free_mb} MB frei",
        "Auf einem vollen Datenträger enden die Skripte, und zuletzt wird nichts mehr aufgezeichnet.",
        "sudo du -xh --max-depth=2 / | sort -h | tail",
    ),
    "room for days": (
        "In {folder} ist Platz für {days} weitere Tage wie den vollsten der letzten Zeit ({a_day_kb} kB)",
    ),
    "room for few days": (
        "In {folder} ist nur noch Platz für {days} Tage wie den vollsten der letzten Zeit ({a_day_kb} kB)",
        "Auf einem vollen Datenträger enden die Skripte, und zuletzt wird nichts mehr "
        "aufgezeichnet. Kopieren Sie "
        "die ältesten Aufzeichnungen auf einen anderen Rechner, prüfen Sie, ob sie dort sind, "
        "und löschen Sie sie "
        "hier.",
        "ls -ltr {folder} | head -n 20",
    ),
    "recordings unreadable": (
        "Den Ordner der Aufzeichnungen {folder} können Sie nicht lesen",
        "Für wie viele Tage Platz ist, ist also nicht bekannt.",
        "sudo exhibit doctor",
    ),
    "wear": ("Der Speicher {device} gibt an, dass höchstens {percent}% seiner Lebensdauer verbraucht sind",),
    "worn": (
        "Der Speicher {device} gibt an, dass bis zu {percent}% seiner Lebensdauer verbraucht sind",
        "Bald nimmt er vielleicht nichts mehr an. Besorgen Sie einen neuen, und richten Sie ihn "
        "aus einer Kopie ein, "
        "wie docs/service.md beschreibt.",
        "sudo tar -C / -czf copy.tgz var/lib/exhibit etc/exhibit",
    ),
    "time": ("Die Uhr zeigt {now}",),
    "time went back": (
        "Die Uhr zeigt {now}, aber die letzte Aufzeichnung wurde {last} geschrieben",
        "Aufzeichnungen bleiben in der richtigen Reihenfolge, aber ihr Datum ist falsch, und "
        "ebenso die Zeiten des "
        "Tages.",
        'sudo date --set "JJJJ-MM-TT HH:MM"',
    ),
    "zone": ("Die Zeitzone ist {zone} ({offset})",),
    "zone missing": (
        "Keine Zeitzone ist eingestellt",
        "Der Tag begänne und endete nach der Uhr von Greenwich. `timedatectl list-timezones` zeigt alle "
        "Zonen.",
        "sudo timedatectl set-timezone ZONE",
    ),
    "clock not asked": ("Wer die Uhr stellt, ist nicht bekannt: systemd läuft hier nicht",),
    "clock synchronised": ("Ein Zeitserver stellt die Uhr",),
    "clock synchronised without battery": (
        "Ein Zeitserver stellt die Uhr; ohne ihn ginge sie dort weiter, wo sie beim letzten Ausschalten "
        "stand",
    ),
    "clock of its own": (
        "Kein Zeitserver stellt die Uhr, aber sie hat eine Batterie; vergleichen Sie sie ab und zu",
    ),
    "clock by nobody": (
        "Kein Zeitserver stellt die Uhr, und sie hat keine Batterie",
        "Nach jedem Start geht sie dort weiter, wo sie beim letzten Ausschalten stand. "
        "Vergleichen und stellen Sie "
        "sie.",
        'sudo date --set "JJJJ-MM-TT HH:MM"',
    ),
    "page port free": ("Port {port} ist für die Besucherseite frei",),
    "page served": ("Die Besucherseite ist an Port {port} zu öffnen",),
    "page port taken": (
        "Ein anderes Programm hat Port {port}",
        "Die Besucherseite ist dort nicht möglich. Der Befehl zeigt, welches Programm es ist; "
        "beenden Sie es, oder "
        "geben Sie der Seite einen anderen --port.",
        "sudo ss -ltnp sport = :{port}",
    ),
    "no systemd": ("Dienste wurden nicht geprüft: systemd läuft hier nicht",),
    "no service": ("exhibit ist hier nicht als Dienst eingerichtet",),
    "service runs": ("Der Dienst {unit} läuft; {restarts}-mal von selbst neu gestartet",),
    "service starting": (
        "Der Dienst {unit} startet gerade; vorher {restarts}-mal von selbst",
        "Steht das in einer Minute wieder hier, kann er nicht starten. Der Befehl nennt den Grund.",
        "journalctl -u {unit} -n 50",
    ),
    "service off": ("Der Dienst {unit} ist ausgeschaltet",),
    "service stopped": (
        "Der Dienst {unit} steht",
        "Er sollte immer laufen, wenn der Rechner läuft.",
        "sudo systemctl start {unit}",
    ),
    "service failed": (
        "Der Dienst {unit} ist ausgefallen ({why}), nach {restarts} Starts",
        "Von selbst startet er nicht wieder. Sehen Sie zuerst nach der Maschine; `journalctl -u "
        "{unit} -n 50` nennt "
        "den Grund.",
        "sudo systemctl reset-failed {unit} && sudo systemctl start {unit}",
    ),
    "folder": ("Der Ordner der Maschine {folder} ist in Ordnung",),
    "folder wrong": (
        "Der Ordner der Maschine {folder} hat {count} Fehler",
        "Kein Skript läuft, bevor sie behoben sind. Der Befehl nennt sie.",
        "exhibit check {folder}",
    ),
    "folder unreadable": (
        "{why}",
        "Ohne den Ordner der Maschine {folder} läuft nichts.",
        "ls -la {folder}",
    ),
    "folder not named": (
        "Der Ordner der Maschine wurde nicht geprüft: Nennen Sie ihn, wie in `exhibit doctor ORDNER`",
    ),
    "no secret wanted": ("Die Skripte brauchen kein geheimes Wort",),
    "secrets there": ("Alle geheimen Wörter, die die Skripte brauchen, sind da: {count}",),
    "secrets missing": (
        "Geheime Wörter der Skripte fehlen: {names}",
        "Skripte, die sich anmelden, beginnen nicht. Schreiben Sie für jedes eine Zeile wie: {example} "
        '= "das Wort"',
        "sudo nano {file}",
    ),
    "secrets open": (
        "Die Datei der geheimen Wörter {file} gehört nicht {user} allein",
        "exhibit liest sie nicht. Wenn andere sie lesen konnten, ändern Sie auch die Wörter.",
        "sudo chown {user} {file} && sudo chmod 600 {file}",
    ),
    "secrets unseen": (
        "Die Datei der geheimen Wörter {file} ist da; ob eines fehlt, sehen Sie, wenn Sie dies mit sudo "
        "starten",
    ),
    "secrets unreadable": (
        "Die Datei der geheimen Wörter {file} ist nicht zu verstehen",
        "Skripte, die sich anmelden, beginnen nicht. Sie braucht für jedes Wort eine Zeile wie: keeper "
        '= "das Wort"',
        "sudo nano {file}",
    ),
    "no process left": ("Von früheren Starts ist kein Prozess von exhibit übrig",),
    "process left": (
        "Ein Prozess von exhibit ist übrig, dessen Starter weg ist: `exhibit {command}`, Prozess {pid}",
        "Er hält vielleicht den Anschluss oder zeigt Besuchern eine alte Seite. Der Befehl beendet ihn "
        "ordentlich.",
        "sudo kill {pid}",
    ),
    "all well": ("Alles ist gut.",),
    "to do": ("Zu tun: {count}",),
}
