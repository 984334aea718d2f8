"""The sentences of exhibit/commands in German, each by its English text. A test keeps them together."""

from typing import Final

from exhibit.commands.day.sentences_de_day import DAY
from exhibit.commands.people.sentences_de_people import PEOPLE
from exhibit.commands.practice.sentences_de_practice import PRACTISING
from exhibit.commands.sentences_de_running import RUNNING

GERMAN: Final[dict[str, str]] = {
    **RUNNING,
    **DAY,
    **PEOPLE,
    **PRACTISING,
    "Answer: yes, not yet, or can't (and why).": "Antwort: ja, noch nicht, oder geht nicht (und warum).",
    "Answer: yes, not yet, or no (and why).": "Antwort: ja, noch nicht, oder nein (und warum).",
    "Answer: wait on, leave out, or stop.": "Antwort: warten, auslassen, oder stopp.",
    "Answer: yes, not yet, can't (and why), or leave out.": (
        "Antwort: ja, noch nicht, geht nicht (und warum), oder auslassen."
    ),
    'When it is safe, type "go on"; or press Ctrl-C here to end.': (
        "Wenn es sicher ist, tippen Sie „weiter“; oder beenden Sie hier mit Strg-C."
    ),
    "Still to do: {words}": "Noch zu tun: {words}",
    "Still asked: {words}": "Noch gefragt: {words}",
    "Still late: {words}": "Noch überfällig: {words}",
    "Still to do: look at the machine.": "Noch zu tun: Sehen Sie an der Maschine nach.",
    "{seconds} s left": "noch {seconds} s",
    "{minutes} min left": "noch {minutes} min",
    "step {number} of {count} by hand": "Handgriff {number} von {count}",
    "the bridge did not answer": "Das Programm, das mit der Maschine spricht, hat nicht geantwortet",
    "the bridge is not running": "Das Programm, das mit der Maschine spricht, läuft nicht",
    "If anybody is in danger: {words}": "Wenn jemand in Gefahr ist: {words}",
    "Keyholder: {words}": "Verantwortlich für die Maschine: {words}",
    "That is not the mains stop.": "Das ist nicht der Not-Aus.",
    "the step {step}": "der Schritt {step}",
    'To end the script, type "stop" and press RETURN: it first stops what it started.': (
        "Um das Skript zu beenden, tippen Sie „stopp“ und drücken die Eingabetaste: Es hält erst an, "
        "was es gestartet hat."
    ),
    "Watch only: this program types nothing at the machine. Press Ctrl-C to end.": (
        "Nur Beobachtung: Dieses Programm tippt nichts an der Maschine. Mit Strg-C beenden Sie das Programm."
    ),
    "The scripts have stopped, and there is no question to answer.": (
        "Die Skripte sind angehalten, und es ist keine Frage offen."
    ),
    "  That was not done: {why}.": "  Das wurde nicht ausgeführt: {why}.",
    'Answer "wait on", "leave out" or "stop".': "Antworten Sie „warten“, „auslassen“ oder „stopp“.",
    "  Now: {title}, at the step {step} for {seconds} s.": (
        "  Jetzt: {title}, seit {seconds} s beim Schritt {step}."
    ),
    "It has another {seconds} s.": "Er hat noch {seconds} s.",
    "  Now: a break of another {seconds} s.": "  Jetzt: eine Pause, noch {seconds} s.",
    "  Now: no script is running.": "  Jetzt: Es läuft kein Skript.",
    "  Nothing has come from the machine yet.": "  Von der Maschine ist noch nichts gekommen.",
    "  Something last came from the machine {seconds} s ago.": (
        "  Von der Maschine kam zuletzt vor {seconds} s etwas."
    ),
    "  The closing is not finished. Have its keyholder do the rest at the machine.": (
        "  Das Herunterfahren ist nicht beendet. Den Rest macht an der Maschine, wer für sie verantwortlich "
        "ist."
    ),
    'There is no question to answer. To stop the typing, type "stop".': (
        "Es ist keine Frage offen. Damit nichts mehr getippt wird, tippen Sie „stopp“."
    ),
    (
        '  That "yes" came less than a second after the question, so nothing was confirmed.\n'
        "  Read the question first, then answer."
    ): (
        "  Dieses „ja“ kam weniger als eine Sekunde nach der Frage, darum wurde nichts bestätigt.\n"
        "  Lesen Sie erst die Frage, dann antworten Sie."
    ),
    (
        '  Not yet, or can\'t it be done? "not yet" gives the step its time again, as often as you '
        "like.\n"
        '  "can\'t" and why, such as "can\'t, the lamp stays dark", ends the script: what it started on '
        "the\n"
        "  machine is stopped, and then nothing more is typed until somebody has looked."
    ): (
        "  Noch nicht, oder geht es gar nicht? „noch nicht“ gibt dem Schritt seine Zeit noch einmal, "
        "sooft Sie möchten.\n"
        "  „geht nicht“ und warum, etwa „geht nicht, die Lampe bleibt dunkel“, beendet das Skript: Was "
        "es auf der\n"
        "  Maschine gestartet hat, wird angehalten, und dann wird nichts mehr getippt, bis jemand "
        "nachgesehen hat."
    ),
    'Look at the machine. When it is safe, type "go on", or press Ctrl-C here to end.': (
        "Sehen Sie an der Maschine nach. Wenn es sicher ist, tippen Sie „weiter“, oder beenden Sie "
        "hier mit Strg-C."
    ),
    "the machine printed its end ({by})": "die Maschine hat sein Ende gedruckt ({by})",
    "it isn't among the jobs that the machine lists ({by})": (
        "er steht nicht unter den Aufträgen, die die Maschine auflistet ({by})"
    ),
    "{by} says so": "das sagt {by}",
    "  The harmless key was typed, so that the machine shows what state it is in.": (
        "  Die harmlose Taste wurde getippt, damit die Maschine zeigt, in welchem Zustand sie ist."
    ),
    "  The cancel key was typed, so that the machine shows what state it is in.": (
        "  Die Abbruchtaste wurde getippt, damit die Maschine zeigt, in welchem Zustand sie ist."
    ),
    "  It gets the same time again, once.": "  Er bekommt noch einmal dieselbe Zeit.",
    "  Its prompt is showing, so its command is to be typed again.": (
        "  Der erwartete Prompt ist zu sehen, darum soll sein Befehl noch einmal getippt werden."
    ),
    "  It is to be left out.": "  Er soll ausgelassen werden.",
    "  WHAT NOW? Look at the machine. No command is typed until you answer:": (
        "  WAS NUN? Sehen Sie an der Maschine nach. Es wird kein Befehl getippt, bis Sie antworten:"
    ),
    '    "wait on" gives the step its time again, "leave out" goes on with the next step,': (
        "    „warten“ gibt dem Schritt seine Zeit noch einmal, „auslassen“ geht zum nächsten Schritt,"
    ),
    '    "stop" ends the script.': "    „stopp“ beendet das Skript.",
    "  CAUTION: {caution}": "  VORSICHT: {caution}",
    "  PLEASE: {words}": "  BITTE: {words}",
    "  Done, or already so?": "  Erledigt, oder schon so?",
    "  The step {step} took too long: it waited up to {seconds} s for {what}. The console last showed:": (
        "  Der Schritt {step} hat zu lange gedauert: Er hat bis zu {seconds} s auf {what} gewartet. "
        "Zuletzt stand auf der Konsole:"
    ),
    "  The recording of the run before, {file}, broke off.": (
        "  Die Aufzeichnung des vorigen Laufs, {file}, brach ab."
    ),
    "Job {job}": "Auftrag {job}",
    "A job whose number isn't known": "Ein Auftrag, dessen Nummer nicht bekannt ist",
    "{job}, started by {command},": "{job}, gestartet mit {command},",
    "it may be {exercisers}": "es kann {exercisers} sein",
    "  {job} may be running ({which}): {why}": "  {job} läuft vielleicht ({which}): {why}",
    (
        '  Look at the machine. If no such job is running, or once you have stopped it, type "no job '
        'is running".'
    ): (
        "  Sehen Sie an der Maschine nach. Wenn kein solcher Auftrag läuft, oder wenn Sie ihn "
        "angehalten haben, tippen Sie „kein Auftrag läuft“."
    ),
    (
        "  Nothing answered the harmless key. If the machine is on, it may take that key as the answer "
        "to its next question."
    ): (
        "  Auf die harmlose Taste kam keine Antwort. Wenn die Maschine eingeschaltet ist, nimmt sie "
        "diese Taste vielleicht als Antwort auf ihre nächste Frage."
    ),
    "The scripts have stopped: {why}": "Die Skripte sind angehalten: {why}",
    '    If the last line is the prompt that it waits for, "it is the prompt" makes it type there.': (
        "    Ist die letzte Zeile der Prompt, auf den er wartet, so tippt er dort nach „das ist der Prompt“."
    ),
    "  But if what it waits for arrives after all, the script goes on by itself, and can type again.": (
        "  Kommt aber doch noch, worauf er wartet, so geht das Skript von selbst weiter und kann "
        "wieder tippen."
    ),
    "  In the run before, the script {script} may have left jobs running: {jobs}.": (
        "  Im vorigen Lauf hat das Skript {script} vielleicht Aufträge laufen lassen: {jobs}."
    ),
    "  In the run before, the question {question} was not answered.": (
        "  Im vorigen Lauf wurde die Frage {question} nicht beantwortet."
    ),
    "  It was meant to end by itself by {time} at the latest.": (
        "  Er sollte spätestens um {time} von selbst enden."
    ),
    "  Something was due from the machine, but nothing has been heard since {time}.": (
        "  Von der Maschine müsste etwas kommen, aber seit {time} war nichts zu hören."
    ),
    "  Something was due from the machine, but nothing has been heard from it yet.": (
        "  Von der Maschine müsste etwas kommen, aber es war noch nichts zu hören."
    ),
    "  Is it on, and is the cable in place?": "  Ist sie eingeschaltet, und steckt das Kabel?",
    "  The machine is heard again, after {seconds} s of its time.": (
        "  Die Maschine ist wieder zu hören, nach {seconds} s ihrer Zeit."
    ),
    "  The program may type again, although the machine has not asked for it (XON).": (
        "  Das Programm kann wieder tippen, obwohl die Maschine es nicht wieder zugelassen hat (XON)."
    ),
    "  The number of a job that may be running is {job} ({by} shows it).": (
        "  Die Nummer eines Auftrags, der vielleicht läuft, ist {job} ({by} zeigt sie)."
    ),
    "  A job that was in doubt isn't running: {how}.": "  Ein Auftrag, der fraglich war, läuft nicht: {how}.",
    "  The machine is not connected: {why}": "  Die Maschine ist nicht verbunden: {why}",
    "  The program keeps trying. Has a cable come out, or is the machine off?": (
        "  Das Programm versucht es weiter. Ist ein Kabel herausgerutscht, oder ist die Maschine aus?"
    ),
    "  The line to the machine is open.": "  Die Leitung zur Maschine ist offen.",
    "  This computer's disc for recordings is full. Free some space before the next run.": (
        "  Die Platte dieses Computers ist voll, auf der aufgezeichnet wird. Schaffen Sie vor dem "
        "nächsten Lauf Platz."
    ),
    "  Another program has {port} open too: {programs}.": (
        "  Ein anderes Programm hat {port} ebenfalls geöffnet: {programs}."
    ),
    "  Another program opened {port} and closed it again at once.": (
        "  Ein anderes Programm hat {port} geöffnet und sofort wieder geschlossen."
    ),
    "  If two programs read one port, each gets only part of what arrives. End that program.": (
        "  Wenn zwei Programme an einem Anschluss lesen, bekommt jedes nur einen Teil. Beenden Sie "
        "jenes Programm."
    ),
    "  No other program has {port} open any more.": "  Kein anderes Programm hat {port} mehr geöffnet.",
    "  What is typed at the machine's own terminal is heard, passed on to the machine and recorded.": (
        "  Was am eigenen Terminal der Maschine getippt wird, wird mitgelesen, an die Maschine "
        "weitergegeben und aufgezeichnet."
    ),
    "  What is typed at the machine's own terminal is heard and recorded.": (
        "  Was am eigenen Terminal der Maschine getippt wird, wird mitgelesen und aufgezeichnet."
    ),
    "  What is typed at the machine's own terminal is not heard any more: {why}": (
        "  Was am eigenen Terminal der Maschine getippt wird, wird nicht mehr mitgelesen: {why}"
    ),
    "  {count} characters were typed while the machine was not connected: they are lost.": (
        "  {count} Zeichen wurden getippt, während die Maschine nicht verbunden war: Sie sind verloren."
    ),
    (
        "  Not recorded, because {why}: {received} characters of the machine and {typed} typed ones. "
        "They were passed on all the same."
    ): (
        "  Nicht aufgezeichnet ({why}): {received} Zeichen der Maschine und {typed} getippte. "
        "Weitergegeben wurden sie trotzdem."
    ),
    "{title}, round {number}": "{title}, Runde {number}",
    "  The script {script} can't run now: {why}.": "  Das Skript {script} kann jetzt nicht laufen: {why}.",
    "  The script {script} must wait: {why}.": "  Das Skript {script} muss warten: {why}.",
    "  The script {script} isn't needed: {why}.": "  Das Skript {script} wird nicht gebraucht: {why}.",
    "  The machine shows that it was done too early.": "  Die Maschine zeigt, dass es zu früh war.",
    '  If you did it too early, type "too early"; if nothing came of it, type "it didn\'t".': (
        "  War es zu früh, tippen Sie „zu früh“; ist nichts geschehen, tippen Sie „es ging nicht“."
    ),
    "  It has its time again.": "  Er hat seine Zeit noch einmal.",
    "  What the step waited for has arrived after all, so the script goes on by itself.": (
        "  Worauf der Schritt gewartet hat, ist doch noch gekommen, darum geht das Skript von selbst weiter."
    ),
    "  The step {step} types there, because a person says that it is its prompt.": (
        "  Der Schritt {step} tippt dort, weil jemand sagt, dass es sein Prompt ist."
    ),
    "  The machine did not take the secret of the step {step}. Attempt {number}.": (
        "  Die Maschine hat das geheime Wort des Schritts {step} nicht angenommen. Versuch {number}."
    ),
    "  The answer to the step {step} came late: {line}": (
        "  Die Antwort auf den Schritt {step} kam zu spät: {line}"
    ),
    "  It is not repeated.": "  Er wird nicht wiederholt.",
    "  This round could not be finished: {why}": "  Diese Runde ließ sich nicht zu Ende bringen: {why}",
    (
        "  Everything that it had started was stopped, so the rounds go on by themselves: {times} of "
        "at most {most} times today."
    ): (
        "  Alles, was sie gestartet hatte, wurde angehalten, darum gehen die Runden von selbst weiter: "
        "heute {times} von höchstens {most} Malen."
    ),
    "  Stopping what was started: {why}": "  Was gestartet wurde, wird angehalten: {why}",
    "  Done.": "  Fertig.",
    "  Stopped. If the machine is on, it stays on.": (
        "  Angehalten. Wenn die Maschine eingeschaltet ist, bleibt sie es."
    ),
    "  If its closing doesn't follow by itself, run it to shut it down: --script closing.": (
        "  Folgt das Schlussskript nicht von selbst, fahren Sie sie damit herunter: --script closing."
    ),
    "  Listening, to find out what state the machine is in.": (
        "  Das Programm hört zu, um herauszufinden, in welchem Zustand die Maschine ist."
    ),
    "  The machine is silent: it may be off, or waiting for somebody.": (
        "  Von der Maschine ist nichts zu hören: Vielleicht ist sie aus, oder sie wartet auf jemanden."
    ),
    "  The machine is silent, as it is at: {place}.": (
        "  Von der Maschine ist nichts zu hören, wie in diesem Zustand üblich: {place}."
    ),
    "  The program doesn't know how to go on. The machine's display last showed:": (
        "  Das Programm weiß nicht, wie es weitergeht. Zuletzt stand auf der Anzeige der Maschine:"
    ),
    "Going on. The program first finds out what state the machine is in.": (
        "Es geht weiter. Das Programm findet erst heraus, in welchem Zustand die Maschine ist."
    ),
    "Nothing more is typed at the machine, and nothing arrives from it until it is connected again.": (
        "An der Maschine wird nichts mehr getippt, und von ihr kommt nichts an, bis sie wieder verbunden ist."
    ),
    "  {command} came back as {came_back}; the machine may have taken it all the same.": (
        "  {command} kam als {came_back} zurück; vielleicht hat die Maschine es trotzdem angenommen."
    ),
    "Still ending. The run ends by itself.": "Wird noch beendet. Der Lauf endet von selbst.",
    "Nothing more is typed at the machine; it is still mirrored and recorded.": (
        "An der Maschine wird nichts mehr getippt; was sie schreibt, wird weiter gezeigt und aufgezeichnet."
    ),
    (
        "To start from cold instead: if the machine is up, have it shut down in its own order, by its "
        "keyholder. Then press Ctrl-C here and start again."
    ): (
        "Um stattdessen kalt zu starten: Läuft die Maschine, lassen Sie sie von den für sie "
        "Verantwortlichen in ihrer eigenen Ordnung herunterfahren. Drücken Sie dann hier Strg-C, und "
        "starten Sie neu."
    ),
    "  {command} came back as {came_back}; the machine threw it away.": (
        "  {command} kam als {came_back} zurück; die Maschine hat es verworfen."
    ),
    "  {command} came back as {came_back}; it was not sent.": (
        "  {command} kam als {came_back} zurück; es wurde nicht abgeschickt."
    ),
    "  Text arrives on the line after all: the speed in machine.toml is right.": (
        "  Auf der Leitung kommt doch Text an: Die Geschwindigkeit in machine.toml stimmt."
    ),
    "  Text arrives on the line after all: the parity in machine.toml is right.": (
        "  Auf der Leitung kommt doch Text an: Die Parität in machine.toml stimmt."
    ),
    "  The machine is at: {place}.": "  Die Maschine ist in diesem Zustand: {place}.",
    "Nothing more is typed. Look at the machine: jobs may still be running there.": (
        "Es wird nichts mehr getippt. Sehen Sie an der Maschine nach: Dort laufen vielleicht noch Aufträge."
    ),
    "Its last second may be missing.": "Vielleicht fehlt ihre letzte Sekunde.",
    "or": "oder",
    "(nothing)": "(nichts)",
    (
        "Process {pid} passes characters between the machine and its own terminal. It goes on when "
        "this program ends.\n"
        "To end it too, run `kill {pid}`: nothing typed at the terminal then reaches the machine."
    ): (
        "Der Prozess {pid} gibt Zeichen zwischen der Maschine und ihrem eigenen Terminal weiter. Er "
        "läuft weiter, wenn dieses Programm endet.\n"
        "Um auch ihn zu beenden, führen Sie `kill {pid}` aus: Dann erreicht nichts mehr die Maschine, "
        "was am Terminal getippt wird."
    ),
    (
        "Nothing passes characters between the machine and its own terminal now: what is typed there "
        "doesn't reach the machine."
    ): (
        "Zwischen der Maschine und ihrem eigenen Terminal gibt jetzt nichts Zeichen weiter: Was dort "
        "getippt wird, erreicht die Maschine nicht."
    ),
    "Stopping: the recording is being closed. This program has typed nothing at the machine.": (
        "Wird beendet: Die Aufzeichnung wird abgeschlossen. Dieses Programm hat an der Maschine nichts "
        "getippt."
    ),
    "Nothing is recorded any more. The machine stays as it is.": (
        "Es wird nichts mehr aufgezeichnet. Die Maschine bleibt, wie sie ist."
    ),
    "Stopped before anything was recorded. Nothing was typed at the machine.": (
        "Beendet, bevor etwas aufgezeichnet wurde. An der Maschine wurde nichts getippt."
    ),
    "Still closing the recording. The program ends by itself.": (
        "Die Aufzeichnung wird noch abgeschlossen. Das Programm endet von selbst."
    ),
    "The process that records was ended from outside.": (
        "Der Prozess, der aufzeichnet, wurde von außen beendet."
    ),
    "Since then nothing has been recorded. This program has typed nothing at the machine.": (
        "Seitdem wurde nichts aufgezeichnet. Dieses Programm hat an der Maschine nichts getippt."
    ),
    "The process that passes characters had ended and is started again.": (
        "Der Prozess, der Zeichen weitergibt, war beendet und wird neu gestartet."
    ),
    "Start again.": "Starten Sie neu.",
}
