"""The same decisions and figures whatever the machine's linear algebra adds up first, and whatever hashes come out."""

import json

from tests.kernels import differences, run_under


def test_what_differs_beyond_print_precision_is_seen():
    first = {"holds": [{"margin_g": 0.41, "family": "claws"}]}
    assert differences(first, {"holds": [{"margin_g": 0.41 + 1e-9, "family": "claws"}]}) == []
    assert len(differences(first, {"holds": [{"margin_g": 0.42, "family": "bar"}]})) == 2
    assert differences(first, {"holds": []})


def test_two_kernels_and_two_hash_seeds_hold_alike():
    # a ball and a token are full of ties: every side of them costs the same
    runs = [run_under(kernel, seed, ("ball", "token")) for kernel, seed in (("Nehalem", 1), ("Haswell", 2))]
    first, other = (json.loads(run.communicate(timeout=600)[0]) for run in runs)
    assert all(spec["holds"] for spec in first.values())
    assert differences(first, other) == []
