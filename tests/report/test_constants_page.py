"""The page of constants is that of the code, and leaves none out."""

from pathlib import Path

from antexp.report.constants_page import constant_groups, constants_page

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "constants.md"


def test_the_page_in_the_documentation_is_the_page_of_the_code():
    assert PAGE.read_text(encoding="utf-8") == constants_page(), (
        "run: python -m antexp.report.constants_page > docs/reference/constants.md")


def test_every_constant_of_the_kernels_is_on_it():
    import importlib
    import pkgutil

    import antexp.radio
    from antexp.radio.constants import Constant

    listed = {id(each) for group in constant_groups().values() for each in group}
    for module in pkgutil.iter_modules(antexp.radio.__path__):
        names = vars(importlib.import_module(f"antexp.radio.{module.name}"))
        for name, value in names.items():
            assert not isinstance(value, Constant) or id(value) in listed, f"{module.name}.{name}"


def test_every_constant_says_how_it_is_founded():
    for group in constant_groups().values():
        for each in group:
            assert each.standing
            if each.standing in ("standard", "handbook"):
                assert each.source, each.name
