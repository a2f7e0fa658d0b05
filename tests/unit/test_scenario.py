import dataclasses
import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

import sim
from sim import scenario as module
from sim.errors import RampwalkError
from sim.parameters import HOW_KNOWN
from sim.scenario import (
    STEPS_PER_SECOND,
    Components,
    Knee,
    Person,
    Scenario,
    from_dict,
    from_toml,
    names,
    replace_by_name,
    settings,
    to_dict,
    to_toml,
)
from sim.settings_file import LARGEST_FILE

NUMBERS = [setting for setting in settings() if setting.kind in ("number", "whole", "optional")]


# -------------------------------------------------------------------------------- single settings
@pytest.mark.parametrize("setting", settings(), ids=lambda setting: setting.name)
def test_every_default_has_a_source_and_every_number_a_remedy(setting):
    if setting.kind in ("number", "whole"):
        assert setting.source
        assert setting.how_known in HOW_KNOWN
        assert setting.low <= setting.default <= setting.high
    if setting.kind == "optional":
        assert setting.default is None
    if setting in NUMBERS:
        assert setting.remedy
        assert math.isfinite(setting.low)
        assert math.isfinite(setting.high)


@pytest.mark.parametrize("setting", NUMBERS, ids=lambda setting: setting.name)
@pytest.mark.parametrize("fault", ["below", "above", "nan", "text"])
def test_every_number_refuses_what_it_must(setting, fault):
    value = {"below": setting.low - 1e-3, "above": setting.high + 1, "nan": math.nan, "text": "5"}[fault]
    with pytest.raises(RampwalkError) as caught:
        replace_by_name(Scenario(), {setting.name: value})
    assert setting.name in str(caught.value)
    assert caught.value.name == setting.name


@pytest.mark.parametrize("section", [Person, Components, Knee, Scenario])
def test_a_name_that_a_class_does_not_have_is_answered_with_the_nearest(section):
    with pytest.raises(RampwalkError, match="there is no setting named 'masskg'") as caught:
        section(masskg=3)
    assert caught.value.name == "masskg"
    with pytest.raises(RampwalkError, match="did you mean 'slope_deg'"):
        dataclasses.replace(Scenario(), slop_deg=3)


@pytest.mark.parametrize("wrong", [None, {"slope_deg": -5}, "walk", 3])
def test_what_is_not_a_scenario_is_refused(wrong):
    with pytest.raises(RampwalkError, match="is not a Scenario"):
        replace_by_name(wrong, {})
    with pytest.raises(RampwalkError, match="is not a Scenario"):
        sim.walk(wrong)


@pytest.mark.parametrize("wrong", [None, 3, [("slope_deg", -5)], "slope_deg"])
def test_what_is_not_a_mapping_is_refused(wrong):
    with pytest.raises(RampwalkError, match="is not a mapping"):
        replace_by_name(Scenario(), wrong)
    with pytest.raises(RampwalkError, match="is not a section"):
        from_dict(wrong)


def test_names_that_are_no_texts_are_refused():
    for changes in ({3: 4}, {None: 4}, {("a",): 1}):
        with pytest.raises(RampwalkError, match="is not the name of a setting"):
            replace_by_name(Scenario(), changes)
        with pytest.raises(RampwalkError, match="there is no setting"):
            from_dict(changes)


def test_numbers_keep_one_type():
    scenario = Scenario(slope_deg=-6, strides=8.0, person=Person(mass_kg=80))
    assert type(scenario.slope_deg) is float
    assert type(scenario.strides) is int
    assert type(scenario.person.mass_kg) is float


@pytest.mark.parametrize("value", [2.5, "3", None, True])
def test_whole_numbers_are_whole(value):
    with pytest.raises(RampwalkError, match="strides"):
        Scenario(strides=value)


@pytest.mark.parametrize("value", ["a\nb", "x" * 201, 3, "\x1b[31m"])
def test_the_name_is_one_short_printable_line(value):
    with pytest.raises(RampwalkError, match="name"):
        Scenario(name=value)


def test_a_section_must_be_of_its_class():
    with pytest.raises(RampwalkError, match="not a Person"):
        Scenario(person={"mass_kg": 80})


def test_settings_are_frozen_and_hashable():
    scenario = Scenario()
    with pytest.raises(dataclasses.FrozenInstanceError):
        scenario.slope_deg = 0.0
    assert hash(scenario) == hash(Scenario())
    assert scenario == Scenario()
    assert scenario != Scenario(slope_deg=-7)


def test_all_faults_of_a_class_are_told_at_once():
    with pytest.raises(RampwalkError) as caught:
        Person(mass_kg=-1, stature_m=175, limbs="one")
    lines = str(caught.value).splitlines()
    assert len(lines) == 3
    assert [line.split(" = ")[0] for line in lines] == ["person.mass_kg", "person.stature_m", "person.limbs"]


# -------------------------------------------------------------------------------- pace and steps
def test_speed_follows_one_rule():
    assert Scenario(step_length_m=0.4).speed == pytest.approx(0.4 * STEPS_PER_SECOND)
    assert Scenario(speed_m_s=0.9).speed == 0.9
    assert Scenario(step_length_m=0.6, cadence_steps_per_min=100).speed == pytest.approx(1.0)
    # Walk ratio = step length / cadence: 0.65 m / 0.0065 = 100 steps a minute.
    assert Scenario(step_length_m=0.65, walk_ratio_m_min=0.0065).speed == pytest.approx(0.65 * 100 / 60)
    assert Scenario(step_length_m=0.5, speed_m_s=1.0).step_time == pytest.approx(0.5)


def test_step_lengths_are_prosthetic_then_sound():
    assert Scenario(step_length_m=0.5).step_lengths == (0.5, 0.5)
    assert Scenario(step_length_m=0.5, sound_step_length_m=0.4).step_lengths == (0.5, 0.4)
    both = Scenario(sound_step_length_m=0.4, prosthetic_step_length_m=0.6)
    assert both.step_lengths == (0.6, 0.4)
    assert both.mean_step_length == pytest.approx(0.5)


def test_none_stays_none_when_something_else_changes():
    changed = replace_by_name(Scenario(), {"step_length_m": 0.6})
    assert changed.speed_m_s is None
    assert changed.speed == pytest.approx(0.6 * STEPS_PER_SECOND)


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        ({"speed_m_s": 1.0, "cadence_steps_per_min": 100}, "contradict"),
        ({"speed_m_s": 1.0, "walk_ratio_m_min": 0.0065}, "contradict"),
        ({"step_length_m": 0.95}, "1.1 leg lengths"),
        ({"sound_step_length_m": 0.95}, "sound_step_length_m = 0.95 m"),
        ({"step_length_m": 0.7, "sound_step_length_m": 0.4, "prosthetic_step_length_m": 0.5}, "no effect"),
        ({"step_length_m": 0.9, "speed_m_s": 0.4}, "mean step time"),
        ({"step_length_m": 0.3, "speed_m_s": 1.5}, "mean step time"),
        ({"hip_hold_back_nm": 20, "person": Person(limbs="both-sound")}, "both-sound"),
        ({"hip_hold_back_nm": 130}, "residual hip"),
        ({"person": Person(mass_kg=30), "components": Components(socket_mass_kg=4.5)}, "whole prosthesis"),
    ],
)
def test_contradictions_are_refused(arguments, why):
    with pytest.raises(RampwalkError, match=why):
        Scenario(**arguments)


def test_what_is_just_allowed():
    limit = 1.1 * Person().leg_length
    assert Scenario(step_length_m=limit - 1e-9).step_lengths[0] < limit
    assert Scenario(step_length_m=0.5, sound_step_length_m=0.4, prosthetic_step_length_m=0.6)
    assert Scenario(person=Person(mass_kg=30, limbs="both-sound"), components=Components(socket_mass_kg=4.5))


def test_knee_thresholds_leave_a_gap():
    assert Knee(load_on_n=50, load_off_n=49.9)
    with pytest.raises(RampwalkError, match="must be below"):
        Knee(load_on_n=50, load_off_n=50)


# -------------------------------------------------------------------------------- by name
def test_replace_by_name_changes_what_was_asked_and_nothing_else():
    before = Scenario(name="start", step_length_m=0.45, knee=Knee(law="hydraulic"))
    after = replace_by_name(before, {"slope_deg": -6, "person.mass_kg": 80, "flexion_resistance": 30})
    old, new = to_dict(before), to_dict(after)
    changed = {name for name in names() if _look(old, name) != _look(new, name)}
    assert changed == {"slope_deg", "person.mass_kg", "knee.flexion_resistance"}
    assert before == Scenario(name="start", step_length_m=0.45, knee=Knee(law="hydraulic"))


def _look(data, name):
    for part in name.split("."):
        data = data[part]
    return data


def test_values_that_only_fit_together_are_changed_together():
    changed = replace_by_name(Scenario(), {"load_off_n": 80, "load_on_n": 100})
    assert (changed.knee.load_off_n, changed.knee.load_on_n) == (80.0, 100.0)


@pytest.mark.parametrize(
    ("typed", "offered"),
    [("slop_deg", "slope_deg"), ("person.mass", "person.mass_kg"), ("knee.resistance", "knee.flexion_resistance")],
)
def test_unknown_names_are_answered_with_the_nearest(typed, offered):
    with pytest.raises(RampwalkError, match=f"did you mean '{offered}'"):
        replace_by_name(Scenario(), {typed: 1})


def test_one_setting_under_two_names_is_refused():
    with pytest.raises(RampwalkError, match="same setting"):
        replace_by_name(Scenario(), {"mass_kg": 80, "person.mass_kg": 81})


def test_faults_of_several_sections_are_told_at_once():
    with pytest.raises(RampwalkError) as caught:
        replace_by_name(Scenario(), {"mass_kg": 1000, "knee.load_off_n": 300})
    assert len(str(caught.value).splitlines()) == 2


def test_faults_of_names_values_and_contradictions_are_told_at_once():
    changes = {"slop_deg": 1, "stature_m": 9, "knee.load_off_n": 300, "speed_m_s": 1.0, "cadence_steps_per_min": 90}
    with pytest.raises(RampwalkError) as caught:
        replace_by_name(Scenario(), changes)
    told = [fault.name for fault in caught.value.faults]
    assert told == ["slop_deg", "person.stature_m", "knee.load_off_n", "speed_m_s"]
    assert caught.value.faults[2].names == ("knee.load_off_n", "knee.load_on_n")


def test_a_contradiction_with_a_faulty_value_is_not_told():
    """A step of 1.1 m is too long for the default person, but what the person was to be is not known."""
    with pytest.raises(RampwalkError) as caught:
        replace_by_name(Scenario(), {"step_length_m": 1.1, "stature_m": 22.0})
    assert [fault.name for fault in caught.value.faults] == ["person.stature_m"]
    with pytest.raises(RampwalkError) as caught:
        replace_by_name(Scenario(), {"step_lenght_m": 0.2, "speed_m_s": 0.1})
    assert [fault.name for fault in caught.value.faults] == ["step_lenght_m"]


def test_all_names_are_reachable_and_bare_names_too():
    assert len(set(names())) == len(names())
    for name in names():
        value = _look(to_dict(Scenario()), name)
        assert replace_by_name(Scenario(), {name: value}) == Scenario()
    endings = [name.rpartition(".")[2] for name in names()]
    assert len(endings) == len(set(endings)), "a bare name has become ambiguous"


# -------------------------------------------------------------------------------- dict and files
@st.composite
def scenarios(draw):
    return Scenario(
        slope_deg=draw(st.floats(-20, 15)),
        step_length_m=draw(st.floats(0.3, 0.7)),
        sound_step_length_m=draw(st.none() | st.floats(0.3, 0.7)),
        cadence_steps_per_min=draw(st.none() | st.floats(60, 150)),
        name=draw(st.text().filter(lambda text: len(text) <= 200 and text.isprintable())),
        strides=draw(st.integers(1, 1000)),
        person=Person(mass_kg=draw(st.floats(60, 150)), limbs=draw(st.sampled_from(["one-prosthetic", "both-sound"]))),
        knee=Knee(flexion_resistance=draw(st.floats(0, 1000))),
    )


@given(scenarios())
def test_a_scenario_survives_dict_and_file(tmp_path_factory, scenario):
    assert from_dict(to_dict(scenario)) == scenario
    path = tmp_path_factory.mktemp("toml") / "walk.toml"
    path.write_text(to_toml(scenario), encoding="utf-8")
    assert from_toml(path) == scenario


def _written(tmp_path, content):
    path = tmp_path / "walk.toml"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def test_what_a_file_leaves_out_keeps_its_default(tmp_path):
    scenario = from_toml(_written(tmp_path, "slope_deg = -6\n[knee]\nflexion_resistance = 30\n"))
    assert scenario == replace_by_name(Scenario(), {"slope_deg": -6, "flexion_resistance": 30})
    assert from_toml(_written(tmp_path, "")) == Scenario()


def test_all_faults_of_a_file_are_told_at_once(tmp_path):
    content = 'slop_deg = 5\nstrides = 1.5\nperson = 3\n[knee]\nlaw = "liner"\nload_on = 5\n[kne]\nx = 1\n'
    with pytest.raises(RampwalkError) as caught:
        from_toml(_written(tmp_path, content))
    message = str(caught.value)
    assert message.splitlines()[0].endswith("walk.toml has 6 faults:")
    for part in (
        "'slop_deg'; did you mean 'slope_deg'?",
        "strides = 1.5 is not a whole number",
        "person = 3 is not a section",
        "did you mean 'linear'?",
        "'knee.load_on'; did you mean 'knee.load_on_n'?",
        "'kne'; did you mean 'knee'?",
    ):
        assert part in message


@pytest.mark.parametrize(
    ("content", "why"),
    [
        ("slope_deg = ", "is not TOML"),
        (b"name = '\xff'", "is not TOML"),
        (b"#" * (LARGEST_FILE + 1), "larger than"),
        ("x = " + "[" * 1900, "nested too deeply"),
        ("slope_deg = nan", "not finite"),
        ("slope_deg = 1979-05-27", "not a number"),
        ("step_length_m = 0.95", "leg lengths"),
    ],
)
def test_unusable_files_are_refused_in_one_sentence(tmp_path, content, why):
    with pytest.raises(RampwalkError, match=why) as caught:
        from_toml(_written(tmp_path, content))
    assert "walk.toml" in str(caught.value)


def test_files_that_cannot_be_read(tmp_path):
    with pytest.raises(RampwalkError, match="cannot read"):
        from_toml(tmp_path / "missing.toml")
    with pytest.raises(RampwalkError, match="cannot read"):
        from_toml(tmp_path)


# -------------------------------------------------------------------------------- package
def test_importing_sim_and_building_a_scenario_loads_nothing_heavy():
    program = (
        "import sys, sim\n"
        "sim.Scenario()\n"
        "heavy = {'matplotlib', 'pymunk', 'numba', 'scipy', 'pandas', 'numpy'} & set(sys.modules)\n"
        "sys.exit(', '.join(sorted(heavy)) or 0)\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_public_names_resolve_and_others_do_not():
    for name in sim.__all__:
        assert getattr(sim, name) is not None
        assert name in dir(sim)
    assert sim.Scenario is module.Scenario
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        sim.nothing  # noqa: B018  (the look-up is the test)
