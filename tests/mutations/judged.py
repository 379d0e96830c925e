"""The modules that judge, and the tests that are collected for them."""

_ROOMS = {
    "scanprep": ["findings"],
    "scanprep/scan": ["scale"],
    "scanprep/survey": ["mass"],
    "scanprep/hold/statics": ["gates", "contact"],
    "scanprep/post": ["fit", "retention", "holding", "drill"],
    "scanprep/panel": ["holes"],
    "scanprep/case": ["release"],
    "scanprep/case/check": ["checks", "clashes", "holes", "outlines", "panels"],
    "scanprep/case/record": ["chosen", "decide", "entry", "fold", "fold_later", "frozen", "inputs", "measuring",
                             "mount_status", "retaining"],
    "scanprep/papers/templates": ["template"],
    "scanprep/files": ["ledger"],
}
JUDGED = tuple(f"{room}/{module}.py" for room, modules in _ROOMS.items() for module in modules)
TESTS = ("tests/hold/statics", "tests/hold/test_find.py", "tests/post", "tests/panel", "tests/case",
         "tests/scan/test_scale.py", "tests/survey", "tests/papers/templates", "tests/foundation", "tests/books",
         "tests/files/test_ledger.py")
