import collections
import resource
import sys
import tempfile
import time
from pathlib import Path

from tests.strangers.limits_of_trials import limit_memory, what_goes_wrong
from tests.strangers.mutated_recordings import mutated
from tests.strangers.read_everywhere import prepare, ways

first, count = int(sys.argv[1]), int(sys.argv[2])
prepare()
limit_memory()
found = collections.Counter()
example = {}
began = time.time()
with tempfile.TemporaryDirectory() as place:
    folder = Path(place)
    path = folder / "r" / "stranger.exhibit"
    path.parent.mkdir()
    for number in range(first, first + count):
        content, done = mutated(number)
        path.unlink(missing_ok=True)
        path.write_bytes(content)
        for name, do in ways(path, folder / "cache", number).items():
            wrong = what_goes_wrong(do)
            if wrong:
                key = wrong if not wrong.startswith("takes ") else name + " slow"
                found[key] += 1
                example.setdefault(key, (number, name, done))
        for c in (folder / "cache").glob("*"):
            c.unlink()
print(
    f"{count} in {time.time() - began:.0f} s, {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024} MB"
)
for key, n in found.most_common():
    print(n, key, example[key])
