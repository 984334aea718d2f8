"""What is said of a run, its bridge and its page, in German, each sentence by its English text."""

from typing import Final

RUNNING: Final[dict[str, str]] = {
    (
        "Everybody on this network can now read that page. It shows a code that leads phones to it.\n"
        "The page only shows: from another computer nothing can be typed at the machine, and nothing "
        "controlled.\n"
        "It isn't encrypted, so use it only on a network that you trust, such as the museum's own, and "
        "never open it\n"
        "to the internet."
    ): (
        "Jeder in diesem Netz kann jetzt diese Seite lesen. Sie zeigt einen Code, der Telefone zu ihr "
        "führt.\n"
        "Die Seite zeigt nur: Von einem anderen Computer aus kann nichts an der Maschine getippt und "
        "nichts bedient werden.\n"
        "Sie ist nicht verschlüsselt. Benutzen Sie sie nur in einem Netz, dem Sie vertrauen, etwa dem "
        "des Museums, und\n"
        "öffnen Sie sie nie zum Internet."
    ),
    "The visitors' page: {address}": "Die Seite für die Besucher: {address}",
    "The recording: {file}": "Die Aufzeichnung: {file}",
    "Stopped before anything was typed at the machine.": (
        "Beendet, bevor an der Maschine etwas getippt wurde."
    ),
    "Stopping.": "Wird beendet.",
    "Stopping: the script first stops what it started on the machine.": (
        "Wird beendet: Das Skript hält erst an, was es auf der Maschine gestartet hat."
    ),
    (
        "Stopping. The scripts have failed, so nothing more is typed: look at the machine, where jobs "
        "may still be running."
    ): (
        "Wird beendet. Die Skripte sind gescheitert, darum wird nichts mehr getippt: Sehen Sie an der "
        "Maschine nach, dort laufen vielleicht noch Aufträge."
    ),
    (
        "Stopping. The machine is not connected, so nothing can be stopped there: look at the machine, "
        "where jobs may still be running."
    ): (
        "Wird beendet. Die Maschine ist nicht verbunden, darum lässt sich dort nichts anhalten: Sehen "
        "Sie an der Maschine nach, dort laufen vielleicht noch Aufträge."
    ),
    "Still stopping what was started on the machine. The run ends by itself.": (
        "Noch wird angehalten, was auf der Maschine gestartet wurde. Der Lauf endet von selbst."
    ),
    "The run has ended, and its recording is closed.": (
        "Der Lauf ist zu Ende, und seine Aufzeichnung ist abgeschlossen."
    ),
    "The machine stays as it is.": "Die Maschine bleibt, wie sie ist.",
    "The bridge was ended from outside, in the middle of its work.": (
        "Das Programm, das mit der Maschine spricht, wurde mitten in der Arbeit von außen beendet."
    ),
    "Nothing was stopped at the machine: jobs may still be running, and a command may be half typed.": (
        "An der Maschine wurde nichts angehalten: Vielleicht laufen noch Aufträge, und vielleicht ist "
        "ein Befehl nur halb getippt."
    ),
    "Look at the machine. When it is safe, start again.": (
        "Sehen Sie an der Maschine nach. Wenn es sicher ist, starten Sie neu."
    ),
    "The visitors' page had ended and is started again.": (
        "Die Seite für die Besucher war beendet und wird neu gestartet."
    ),
    (
        "The visitors' page can't be started. Visitors may see nothing new, but the run goes on. This "
        "program tries again by itself, at least once a minute. What the page complains of is in the "
        "folder of the recordings."
    ): (
        "Die Seite für die Besucher lässt sich nicht starten. Besucher sehen vielleicht nichts Neues, "
        "aber der Lauf geht weiter. Dieses Programm versucht es von selbst wieder, mindestens einmal in "
        "der Minute. Worüber die Seite klagt, steht im Ordner der Aufzeichnungen."
    ),
    (
        "A page shows these recordings at {address}, but it doesn't answer, so this program doesn't use it. "
        "To end that page, run `kill -9 {pid}`."
    ): (
        "Eine Seite zeigt diese Aufzeichnungen unter {address}, antwortet aber nicht. Darum benutzt dieses "
        "Programm sie nicht. Um diese Seite zu beenden, geben Sie `kill -9 {pid}` ein."
    ),
    "The bridge did not begin a recording within {seconds} s.": (
        "Das Programm, das mit der Maschine spricht, hat in {seconds} s keine Aufzeichnung begonnen."
    ),
    "So it was ended. Nothing was typed at the machine.": (
        "Darum wurde es beendet. An der Maschine wurde nichts getippt."
    ),
    "Check whether this computer or its disc is busy with something else, and start again.": (
        "Prüfen Sie, ob dieser Computer oder seine Platte mit etwas anderem beschäftigt ist, und "
        "starten Sie neu."
    ),
    "The web server did not start, so nothing was typed at the machine.": (
        "Der Webserver ist nicht gestartet, darum wurde an der Maschine nichts getippt."
    ),
    "Visitors would have seen nothing.": "Die Besucher hätten nichts gesehen.",
    "Read its message above, correct the cause and start again.": (
        "Lesen Sie oben seine Meldung, beheben Sie die Ursache und starten Sie neu."
    ),
    "This page was there before, and stays when this program ends.": (
        "Diese Seite war schon da und bleibt, wenn dieses Programm endet."
    ),
    "This page stays when this program ends.": "Diese Seite bleibt, wenn dieses Programm endet.",
    "The visitors' page stays: {address}": "Die Seite für die Besucher bleibt: {address}",
    "To end it too, run `kill {pid}`.": "Um auch sie zu beenden, geben Sie `kill {pid}` ein.",
    (
        "The visitors' page has ended too. With `exhibit page` it stays all day, whatever is started and "
        "stopped."
    ): (
        "Auch die Seite für die Besucher ist beendet. Mit `exhibit page` bleibt sie den ganzen Tag, was "
        "auch gestartet und beendet wird."
    ),
    "The visitors' page is now at {address}": "Die Seite für die Besucher ist jetzt hier: {address}",
}
