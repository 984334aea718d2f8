"""What to do in an emergency, in general: for each that the machine's folder says nothing about.

They defer to the site's own rules. The first line is always the most urgent one.
"""

from __future__ import annotations

from typing import Final

NAMES: Final = ("smoke", "hurt", "evacuation", "noise", "power-back", "nobody-at-closing")
"""Danger to people first, then danger to the machine, then what can be done in peace."""
GENERAL: Final[dict[str, dict[str, tuple[str, list[str]]]]] = {
    "en": {
        "smoke": (
            "Smoke or a smell of burning",
            [
                "Press the mains stop if you can do it without danger. Anybody may.",
                "Get everybody out, and close the door.",
                "Call the fire service. If in doubt, call.",
                "Fight a fire only if it is small, the power is off, your way out is free and you have "
                "been trained. Never use water.",
                "Don’t go back in. Call the keyholder. The machine comes last.",
            ],
        ),
        "hurt": (
            "Somebody is hurt",
            [
                "If they may be touching something live, don’t touch them: press the mains stop first.",
                "Call the emergency number, then the first-aider of this site.",
                "Stay with them. Move them only out of danger.",
                "Send somebody to meet the helpers. Ask the others to leave.",
                "Then call the keyholder. Leave everything as it is.",
            ],
        ),
        "evacuation": (
            "Everybody must leave the building",
            [
                "Leave at once with everybody in the room, by the nearest way out.",
                "Leave the machine as it is. Press the mains stop only if it is on your way.",
                "Go to the assembly point, and say who was in the room.",
                "Nobody goes back in until whoever is in charge says so.",
                "Then call the keyholder before anything is started again.",
            ],
        ),
        "noise": (
            "An odd noise",
            [
                "If it scrapes, grinds or squeals, press the mains stop.",
                "Otherwise touch nothing and open nothing. Ask visitors to step back.",
                "Press “Stop typing” on the docent’s page, so that the program starts nothing more.",
                "Note the time and the cabinet that the noise comes from.",
                "Call the keyholder. Go on only when the keyholder says so.",
            ],
        ),
        "power-back": (
            "The power has failed, or is back after a failure",
            [
                "Breakers off first, also while the power is still off: see that the machine’s own breakers "
                "and its key are off. Switch only what you have been shown; otherwise touch nothing.",
                "Keep everybody away from the machine, and open nothing.",
                "If anything is hot, smells or smokes, use the mains stop.",
                "Nothing restarts itself: no drive is started. Don’t let the program go on either, until the "
                "keyholder agrees.",
                "Call the keyholder. If they agree, choose “The power was off: begin the opening” on the "
                "docent’s page. It begins with the first step, whatever was running before.",
            ],
        ),
        "nobody-at-closing": (
            "It is closing time, and nobody is here to close",
            [
                "Call the keyholder. Whoever finds this stays until somebody comes.",
                "Ask visitors to leave the room.",
                "Don’t switch the power off while a disc turns, unless there is danger.",
                "Do nothing by hand that you haven’t been shown. The program begins no more rounds; what "
                "needs hands waits.",
                "Never lock up and leave the machine running.",
            ],
        ),
    },
    "de": {
        "smoke": (
            "Rauch oder Brandgeruch",
            [
                "Drücken Sie den Not-Aus, wenn Sie es gefahrlos können. Das dürfen alle.",
                "Bringen Sie alle hinaus und schließen Sie die Tür.",
                "Rufen Sie die Feuerwehr. Im Zweifel: anrufen.",
                "Löschen Sie nur, wenn das Feuer klein ist, der Strom aus, Ihr Weg hinaus frei und Sie es "
                "gelernt haben. Nie mit Wasser.",
                "Gehen Sie nicht zurück. Rufen Sie die zuständige Person. Die Maschine kommt zuletzt.",
            ],
        ),
        "hurt": (
            "Jemand ist verletzt",
            [
                "Wenn die Person etwas berührt, das unter Spannung stehen kann: nicht anfassen, zuerst "
                "den Not-Aus drücken.",
                "Wählen Sie den Notruf, dann rufen Sie die Ersthilfe dieses Hauses.",
                "Bleiben Sie bei der Person. Bewegen Sie sie nur aus einer Gefahr heraus.",
                "Schicken Sie jemanden den Helfern entgegen. Bitten Sie die anderen zu gehen.",
                "Rufen Sie dann die zuständige Person. Lassen Sie alles, wie es ist.",
            ],
        ),
        "evacuation": (
            "Alle müssen das Haus verlassen",
            [
                "Gehen Sie sofort mit allen im Raum auf dem nächsten Weg hinaus.",
                "Lassen Sie die Maschine, wie sie ist. Drücken Sie den Not-Aus nur, wenn er auf Ihrem Weg "
                "liegt.",
                "Gehen Sie zum Sammelpunkt und sagen Sie, wer im Raum war.",
                "Niemand geht zurück, bis die Einsatzleitung es sagt.",
                "Rufen Sie dann die zuständige Person, bevor wieder etwas gestartet wird.",
            ],
        ),
        "noise": (
            "Ein ungewöhnliches Geräusch",
            [
                "Wenn es schleift, mahlt oder kreischt, drücken Sie den Not-Aus.",
                "Sonst fassen Sie nichts an und öffnen Sie nichts. Bitten Sie die Gäste zurückzutreten.",
                "Drücken Sie auf der Seite der Aufsicht „Tippen anhalten“, damit das Programm nichts mehr "
                "startet.",
                "Notieren Sie die Uhrzeit und aus welchem Schrank das Geräusch kommt.",
                "Rufen Sie die zuständige Person. Machen Sie erst weiter, wenn sie es sagt.",
            ],
        ),
        "power-back": (
            "Der Strom ist ausgefallen, oder er ist wieder da",
            [
                "Zuerst die Sicherungen aus, auch solange der Strom noch weg ist: Prüfen Sie, ob die eigenen "
                "Schutzschalter und der Schlüssel der Maschine auf Aus stehen. Schalten Sie nur, was man "
                "Ihnen gezeigt hat; sonst fassen Sie nichts an.",
                "Halten Sie alle von der Maschine fern und öffnen Sie nichts.",
                "Wenn etwas heiß ist, riecht oder raucht, drücken Sie den Not-Aus.",
                "Nichts startet von selbst: Kein Laufwerk wird gestartet. Lassen Sie auch das Programm "
                "nicht weitermachen, bis die zuständige Person zustimmt.",
                "Rufen Sie die zuständige Person. Stimmt sie zu, wählen Sie auf der Seite der Aufsicht „Der "
                "Strom war weg: mit dem Hochfahren beginnen“. Es beginnt mit dem ersten Schritt, egal, was "
                "vorher lief.",
            ],
        ),
        "nobody-at-closing": (
            "Es ist Schließzeit, und niemand ist da",
            [
                "Rufen Sie die zuständige Person. Wer dies findet, bleibt, bis jemand kommt.",
                "Bitten Sie die Gäste, den Raum zu verlassen.",
                "Schalten Sie den Strom nicht ab, solange sich eine Platte dreht, außer bei Gefahr.",
                "Tun Sie von Hand nichts, was man Ihnen nicht gezeigt hat. Das Programm beginnt keine "
                "Runde mehr; Handgriffe warten.",
                "Schließen Sie nie ab, solange die Maschine läuft.",
            ],
        ),
    },
}
"""By language and name: the title, and what to do, the most urgent first."""
