"""Every example in a docstring is run: what it prints is what it says."""

import doctest
import importlib.util
import pkgutil

import pytest

import scanprep

MODULES = sorted(module.name for module in pkgutil.walk_packages(scanprep.__path__, "scanprep.")
                 if ">>>" in (importlib.util.find_spec(module.name).loader.get_source(module.name) or ""))


@pytest.mark.parametrize("name", MODULES)
def test_examples_print_what_they_say(name):
    result = doctest.testmod(importlib.import_module(name))
    assert result.attempted > 0 and result.failed == 0


def test_there_are_examples():
    assert len(MODULES) >= 20
