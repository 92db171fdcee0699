"""Applies each patch to its old document and compares: arguments are OLD PATCH NEW, three by three.

A document is a file, or a build folder that stands for {"BRIDGE": bridge JSON, ...}.
"""

import json
import pathlib
import sys

import jsonpatch


def document(path):
    path = pathlib.Path(path)
    if path.is_file():
        return json.loads(path.read_text(encoding="utf-8"))
    bridges = (json.loads(file.read_text(encoding="utf-8")) for file in sorted(path.glob("*.bridge.json")))
    return {bridge["bridge"]["key"]: bridge for bridge in bridges}


def main(arguments):
    passed = failed = 0
    for old, patch, new in zip(arguments[::3], arguments[1::3], arguments[2::3]):
        old, patch, new = document(old), document(patch), document(new)
        try:
            reached = jsonpatch.JsonPatch(patch).apply(old)
        except Exception as error:
            reached, reason = None, f"{type(error).__name__}: {error}"
        else:
            reason = "gives another document"
        good = reached == new and (len(patch) > 0) == (old != new)
        print(f"{'ok' if good else 'FAILED'}: {len(patch)} operations{'' if good else ': ' + reason}")
        passed, failed = passed + good, failed + (not good)
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


sys.exit(main(sys.argv[1:]))
