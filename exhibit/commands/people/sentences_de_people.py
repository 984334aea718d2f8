"""What is said of people and troubles, in German, each sentence by its English text."""

from typing import Final

PEOPLE: Final[dict[str, str]] = {
    "  TROUBLE: {trouble}": "  STÖRUNG: {trouble}",
    "  It was first seen on {date} at {time}, and isn't over yet.": (
        "  Sie wurde zuerst am {date} um {time} Uhr gesehen und ist noch nicht vorbei."
    ),
    "  That is the same as before, {times} times now.": "  Das ist dieselbe wie eben, jetzt {times}-mal.",
    "  The machine can be left alone meanwhile.": "  Die Maschine kann solange allein bleiben.",
    "  Don't leave the machine alone meanwhile.": "  Lassen Sie die Maschine solange nicht allein.",
    (
        "  Nobody has said whether the machine can be left alone now. Look whether anything smokes, smells "
        "or sounds wrong; stay if you aren't sure."
    ): (
        "  Ob die Maschine jetzt allein bleiben kann, hat niemand festgelegt. Achten Sie darauf, ob etwas "
        "raucht, riecht oder falsch klingt; bleiben Sie da, wenn Sie unsicher sind."
    ),
    "  Call the keyholder.": "  Rufen Sie an, wer für die Maschine verantwortlich ist.",
    "  Call the engineer.": "  Rufen Sie die Technik.",
    "  HANDS OFF: nothing more is typed, not even what would stop the jobs.": (
        "  HÄNDE WEG: Es wird nichts mehr getippt, auch nicht, was die Aufträge anhielte."
    ),
    "  Jobs may go on. Look at the machine before anything else is done.": (
        "  Vielleicht laufen Aufträge weiter. Sehen Sie an der Maschine nach, bevor etwas anderes geschieht."
    ),
    "  {command} stands half typed on the console, without its RETURN.": (
        "  {command} steht halb getippt an der Konsole, ohne die Eingabetaste."
    ),
    "  Part of a secret stands half typed on the console.": (
        "  Ein Teil eines geheimen Worts steht halb getippt an der Konsole."
    ),
    "  {by} has the machine's keyboard. No script begins until it is given back.": (
        "  {by} hat die Tastatur der Maschine. Bis sie zurückgegeben ist, beginnt kein Skript."
    ),
    "  The keyboard was given back.": "  Die Tastatur wurde zurückgegeben.",
    "  {by} has seen the trouble.": "  {by} hat die Störung gesehen.",
    "  {by} set the trouble aside until {time}: {why}": (
        "  {by} hat die Störung bis {time} zurückgestellt: {why}"
    ),
    "  That trouble is over: {how}.": "  Diese Störung ist vorbei: {how}.",
    "  {by} says that the trouble is over.": "  {by} sagt, dass die Störung vorbei ist.",
}
