"""The table of woods: looked up by any usual name, every constant with its source."""

import dataclasses

import pytest

from vision.joint.species import SPECIES, find_species, known_woods, worst_of_all

CONSTANTS = {field.name for field in dataclasses.fields(worst_of_all())} - {"name", "group", "sources"}


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ("pine", "eastern white pine"),
        ("Poplar", "yellow-poplar"),
        ("Yellow Poplar", "yellow-poplar"),
        ("cherry", "black cherry"),
        ("maple", "sugar maple"),
        ("red_maple", "red maple"),
        ("oak", "northern red oak"),
        ("white  oak", "white oak"),
        ("walnut", "black walnut"),
        ("ash", "white ash"),
        ("beech", "American beech"),
        ("Douglas-fir", "Douglas-fir, coast"),
        ("douglas fir coast", "Douglas-fir, coast"),
    ],
)
def test_a_wood_is_found_by_its_usual_names(asked, found):
    assert find_species(asked).name == found


def test_an_unknown_wood_is_refused_with_the_names_that_are_known():
    with pytest.raises(ValueError, match="'teak' is not in the table") as refusal:
        find_species("teak")
    assert all(name in str(refusal.value) for name in known_woods())


@pytest.mark.parametrize("wood", SPECIES.values(), ids=lambda wood: wood.name)
def test_every_constant_has_a_source_and_is_of_the_right_order(wood):
    assert set(wood.sources) == CONSTANTS
    assert all(wood.sources.values())
    assert 0.3 < wood.specific_gravity < 0.8
    assert wood.crush_mpa < wood.modulus_t_mpa < wood.shear_lr_mpa * 2 < wood.modulus_l_mpa
    low, high = wood.fracture_n_per_m
    assert 50 < low < high < 1000


def test_only_conifers_are_softwoods():
    softwoods = {wood.name for wood in SPECIES.values() if wood.group == "softwood"}
    assert softwoods == {"eastern white pine", "Douglas-fir, coast", "Douglas-fir, interior north"}


def test_borrowed_constants_are_said_to_be_borrowed():
    assert any("western white pine" in text for text in find_species("pine").stand_ins)
    assert any("sugar maple" in text for text in find_species("beech").stand_ins)
    assert find_species("sugar maple").stand_ins == ()


def test_the_unnamed_wood_is_the_worst_in_every_constant_and_counts_as_hardwood():
    worst = worst_of_all()
    assert worst.group == "hardwood"
    for wood in SPECIES.values():
        assert worst.modulus_t_mpa / worst.crush_mpa >= wood.modulus_t_mpa / wood.crush_mpa
        assert worst.fracture_n_per_m <= wood.fracture_n_per_m
    assert worst.stand_ins == ()
