"""Proposals for a lab and for a whole term, as they are typed: what ``--write`` leaves alone, what
``check`` says of them afterwards, dates, the drawing, and calls that can't be followed.
"""

import re
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import pytest
import yaml

from cases import cases
from democourse import copy_of_the_course, exchange
from fallwork.commands.newterm import inserted
from fallwork.lesson.answers import results, slips
from fallwork.lesson.build import build_lesson
from fallwork.mechanics import apparatus_of, solve
from fallwork.pages.worked import gravity_estimate, reviewed
from fallwork.scenario import load_course, numbers_of

TERM = Path("site-data/terms/2026-autumn.yaml")
NEW = Path("site-data/terms/2027-autumn.yaml")
CASES = cases(__file__, "vary")


@pytest.fixture
def course(tmp_path, monkeypatch):
    """The level track alone, with fewer settings, so that there is less to look at."""
    folder = copy_of_the_course(tmp_path / "course")
    fewer = "from: 0.30 m, to: 0.90 m, step: 0.1 m"
    exchange(folder / "site-data/inventory.yaml", "from: 0.10 m, to: 0.90 m, step: 0.01 m", fewer)
    exchange(folder / "site-data/inventory.yaml", ", disc-2, disc-1", "")
    monkeypatch.chdir(folder)
    return folder


@pytest.fixture
def vary(run):
    return lambda line: run("vary", *line.split())


def numbers_in(text):
    return [re.findall(r": ([^,}]+)", line) for line in re.findall(r"numbers: {(.*})", text)]


def test_a_new_term_is_written_and_check_has_nothing_to_say(course, run, vary):
    line = "--term 2027-autumn --after 2026-autumn --write"
    status, printed, messages = vary(f"{line} --plot out.svg")
    assert (status, messages) == (0, "")
    data = load_course(Path("site-data"))
    (old, new) = data.terms
    assert (new.title, len(new.labs)) == ("Autumn 2027", len(old.labs))
    assert new.labs[0].title != new.labs[-1].title
    for before, after in zip(old.labs, new.labs, strict=True):
        assert (after.id, after.variant.systems) == (before.id, before.variant.systems)
        for key in ("opens", "due", "solution_opens"):
            was, now = getattr(before, key), getattr(after, key)
            assert (now - was).days == 364
            assert (now.weekday(), now.time()) == (was.weekday(), was.time())
        assert [*after.sections] == [*before.sections]
    status, said, messages = run("check")
    assert (status, messages) == (0, "")
    assert said.count(" note: ") == said.count("without url")
    every = [row for path in (NEW, TERM) for row in numbers_in(path.read_text("utf-8"))]
    assert len({*map(tuple, every)}) == len(every) > 3
    # The reasons of a whole term are left to a call for a lab; students' dates of trials are kept.
    assert "  why" not in printed
    assert "  # data_opens: 2027-11-15, thursday 2027-11-18    with measured" in printed
    root = ElementTree.fromstring(Path("out.svg").read_text("utf-8"))
    words = " ".join(root.itertext())
    assert re.findall("([0-9,]+) are good", printed)[-1] in words
    assert "proposed: 1" in words
    shown = (re.search(f"{k}: ([0-9,]+)", words)[1] for k in ("can be built", "of these good"))
    built, good = (int(each.replace(",", "")) for each in shown)
    assert built > good > 1
    assert "acceleration of the cart (m/s²)" in words
    assert "tension of the string (N)" in words


def test_a_lab_that_can_not_be_proposed_is_named_and_the_others_are_written(
    tmp_path, run, vary, monkeypatch
):
    folder = copy_of_the_course(tmp_path / "course", labs=("incline-held", "level-track-f"))
    owned = folder / "site-data/inventory.yaml"
    exchange(owned, "  block:  {kind: block", "  block:  {kind: glider")
    exchange(owned, "disc-2, disc-1", "disc-2")
    monkeypatch.chdir(folder)
    line = "--term 2027-autumn --after 2026-autumn --write"
    status, printed, messages = vary(line)
    assert status == 2
    assert messages == (
        "incline-held: the inventory has not enough for 8 benches at once: block.mass (kind: "
        "block); add it to site-data/inventory.yaml, or lower the number of benches there\n"
    )
    assert f"{NEW}: written" in printed
    others = ["level-track-frictionless"]
    (_, new) = load_course(Path("site-data")).terms
    assert [lab.id for lab in new.labs] == others
    # Once it can be built, the same call puts it there too, and says which are there already.
    exchange(owned, "  block:  {kind: glider", "  block:  {kind: block")
    assert re.findall("has a lab (.*) already", vary(line)[2]) == others
    (_, new) = load_course(Path("site-data")).terms
    assert [lab.id for lab in new.labs] == [*others, "incline-held"]
    assert run("check")[::2] == (0, "")


@pytest.mark.parametrize(("options", "first", "last"), CASES["first day"])
def test_the_first_day_and_holidays_move_whole_weeks(options, first, last, course, vary):
    term = yaml.safe_load(TERM.read_text("utf-8"))
    term["labs"] = {name: term["labs"][name] for name in ("level-track", "level-track-make-up")}
    TERM.write_text(yaml.safe_dump(term, sort_keys=False), "utf-8")
    status, printed, _ = vary(f"--term 2027-autumn --write {options}")
    assert status == 0
    (_, new) = load_course(Path("site-data")).terms
    assert f"{new.labs[0].opens:%Y-%m-%d}" == first
    assert f"{new.labs[-1].solution_opens:%Y-%m-%d}" == last
    assert f" weeks, so that the first lab opens on {first};" in printed
    assert {lab.opens.weekday() for lab in new.labs} == {0}
    # One that is taken out and put back gets the dates that it had, as those beside it have theirs.
    head, rest = NEW.read_text("utf-8").split("  level-track-make-up:\n")
    NEW.write_text(head, "utf-8")
    status, printed, _ = vary("level-track-make-up --term 2027-autumn --write")
    assert (status, "moved as the labs were that 2027-autumn has already" in printed) == (0, True)
    dates = re.findall("(?:opens|due): .*", rest)
    assert re.findall("(?:opens|due): .*", NEW.read_text("utf-8"))[-len(dates) :] == dates


def test_a_word_that_no_other_term_has_is_asked_about(course, vary):
    said = 'the term 2028-autum: no other term has "autum" in its id; did you mean "autumn"?'
    assert said in vary("level-track --term 2028-autum")[1].splitlines()
    assert "no other term has" not in vary("level-track --term 2028-autumn")[1]


def test_each_student_gets_a_variant_and_only_a_private_file_says_whose(course, run, vary):
    listed = course.parent / "ids.csv"
    listed.write_text("id,name\nx17,A Name\n\nx9,\nx21\nx9\n", "utf-8")
    line = "level-track --term 2027-autumn --for ../ids.csv"
    assert vary(line)[0] == 0
    private = course.parent / "ids-2027-autumn-level-track.csv"
    assert not private.exists()
    assert vary(f"{line} --write")[::2] == (0, "")
    (_, new) = load_course(Path("site-data")).terms
    (lab,) = new.labs
    head, *rows = [row.split(",") for row in private.read_text("utf-8").splitlines()]
    assert head == ["id", "variant", "cart.mass", "weight.mass", "run.distance"]
    assert [row[0] for row in rows] == ["x17", "x9", "x21"]
    assert sorted(row[1] for row in rows) == [*lab.variants] == ["set-1", "set-2", "set-3"]
    for _, name, *numbers in rows:
        own = numbers_of(lab.variants[name])
        assert [own[path].partition(" ±")[0] for path in head[2:]] == numbers
    assert not any("x17" in path.read_text("utf-8") for path in course.rglob("*.yaml"))
    # Every answer of one set is off all others', so that none can be handed on.
    for one, other in combinations(map(_rights, lab.every_variant), 2):
        for key in ("acceleration", "tension.string", "speed", "time"):
            assert abs(other[key] / one[key] - 1) > 0.0099
    assert " note: level-track" not in run("check")[1]


@pytest.mark.parametrize(("place", "written", "says"), CASES["ids"])
def test_a_file_of_ids_that_cant_be_read_or_could_be_shown_is_refused(
    course, vary, place, written, says
):
    folder, _, more = place.partition(" ")
    (course / folder).mkdir(exist_ok=True)
    (course / folder / "ids.csv").write_text(written, "latin-1")
    status, _, messages = vary(f"level-track --term 2027-autumn --for {folder}/ids.csv {more}")
    assert (status, messages.startswith(says)) == (2, True), messages


def test_nobody_goes_without_a_variant(course, vary):
    (course.parent / "ids.csv").write_text("id;name\n" + "".join(f"x{n};\n" for n in range(90)))
    status, _, messages = vary("level-track --term 2027-autumn --for ../ids.csv --write")
    assert (status, messages.startswith("level-track: only ")) == (2, True)
    assert not (course / "site-data/terms/2027-autumn.yaml").exists()
    assert [path.name for path in course.parent.glob("*.csv")] == ["ids.csv"]


def test_where_no_new_answers_are_left_the_proposal_says_so(course, run, vary):
    owned = Path("site-data/inventory.yaml")
    carries = "(?m)^(  (?:cart|hanger|large-hanger):.*carries: ).*?]"
    text = re.sub(carries, r"\1[plate]", owned.read_text("utf-8"))
    owned.write_text(text.replace("from: 0.30 m, to: 0.90 m", "from: 0.50 m, to: 0.60 m"), "utf-8")
    said = "too few of these differ from all earlier terms"
    for year in range(2027, 2033):
        status, printed, messages = vary(f"level-track --term {year}-autumn --write")
        assert (status, messages) == (0, "")
        assert numbers_in(printed)
        if said in printed:
            assert re.search(r"earlier  .*  0(\.\d+)?  +1 or more", printed)
            break
    assert said in printed


def test_each_condition_stands_by_the_name_that_excludes(course, vary):
    printed = vary("level-track --term 2027-autumn")[1]
    why, excluded = printed[printed.index("  why") :].split("  how many sets each condition")
    names = set(re.findall("^    ([a-z]+)  ", excluded, re.MULTILINE))
    assert {"speed", "mistakes", "earlier"} <= names
    assert names - {"run"} <= set(re.findall("^    ([a-z]+)  ", why, re.MULTILINE))
    assert re.search("earlier  +Marking tolerances between .* 1 or more", why)


def test_the_next_best_differs_in_every_answer(course, vary):
    rights = []
    for rank in (1, 2):
        assert vary(f"level-track --term 2027-autumn --rank {rank} --write")[::2] == (0, "")
        rights.append(_rights(load_course(Path("site-data")).terms[-1].labs[0].variant))
        NEW.unlink()
    for key in ("acceleration", "tension.string", "speed", "time", "normal.cart"):
        assert abs(rights[0][key] / rights[1][key] - 1) > 0.0099


def test_numbers_of_ones_own_are_judged_as_proposals_are(course, vary, monkeypatch):
    call, found = "level-track --term 2027-autumn --set weight.mass=20g --set cart.mass=512.5g", []
    for kept in (course.parent / "kept", ""):
        monkeypatch.setenv("FALLWORK_KEPT", str(kept))
        found.append(printed := vary(call)[1])
    assert found == [printed, printed]
    assert re.search(r"cart\.mass  +512\.5 g ± 0\.1 g +510\.0 g  ", printed)
    assert re.search(r"resistance .* 20.% +1.% to 25.% +good", printed)  # μ m_c/m_h
    assert re.search(r"uncertainty .* too large", printed)
    assert "  note: level-track: The predicted acceleration is uncertain by " in printed
    assert re.search(r"mistakes .*\(A5, (?:.*\n)*    A5 .*: Friction taken for both", printed)
    assert not NEW.exists()


def test_what_was_written_is_judged_by_the_call_that_is_named_for_it(course, vary):
    proposed = vary("level-track --term 2027-autumn")[1]
    printed = vary("--term 2027-autumn --after 2026-autumn --write")[1]
    call = re.search("excludes others: fallwork vary (.*)", printed)[1]
    judged = vary(call.replace("LAB", "level-track"))[1]
    numbers = re.search(r"(?m)^level-track, .*\n((?:  \S+ .*\n)+)", printed)[1]
    both = numbers.splitlines(), judged.splitlines()[1:4]
    assert len({str([line.split()[:2] for line in lines]) for lines in both}) == 1
    assert not re.search("too |note: ", judged)
    assert judged.count("  good\n") == proposed.count("  good\n") > 10


@pytest.mark.parametrize(("numbers", "slip", "second"), CASES["parts"])
def test_a_mistake_is_told_of_its_part(numbers, slip, second, tmp_path, vary, monkeypatch):
    monkeypatch.chdir(copy_of_the_course(tmp_path / "course", labs=("push-away",)))
    line = "push-away --term 2027-autumn --set cart.mass={} --set weight.mass={} --set run.start={}"
    printed = vary(line.format(*numbers.split()))[1]
    (told,) = re.findall(rf"(?m)^    {slip} .*", printed)
    assert ("in part II of the run" in told) == second


def test_the_same_term_gets_the_same_proposal_and_another_one_another(course, run, vary):
    first, again, other = (
        vary(f"level-track --term {term}")[1]
        for term in ("2027-autumn", "2027-autumn", "2028-autumn")
    )
    assert first == again
    assert numbers_in(first) != numbers_in(other)
    assert not NEW.exists()


def test_comments_and_blank_lines_of_a_file_stay(course, run, vary):
    text = CASES["by hand"].rstrip()
    NEW.write_text(text, "utf-8")
    status, printed, _ = vary("level-track --term 2027-autumn --count 2 --write")
    assert status == 0
    found = NEW.read_text("utf-8")
    head, tail = text[: text.index("\n\n# the end") + 1], "\n# the end"
    assert found.startswith(head)
    assert found.endswith(tail)
    added = found[len(head) : -len(tail)]
    (lab,) = yaml.safe_load(added).values()
    assert [*lab["variants"]] == ["set-1", "set-2"]
    assert numbers_in(added) == numbers_in(printed)
    for more in ("--write", "--rank 2", "--count 1"):  # which judge nothing
        said = vary(f"level-track --term 2027-autumn {more}")[2]
        assert said.startswith(f"level-track: {NEW} has a lab level-track already; take it out, or")
    assert NEW.read_text("utf-8") == found


def test_lines_end_as_those_of_the_file():
    text = "term: A\r\nlabs:\r\n  one:\r\n    x: 1\r\n\r\n# end"
    assert inserted(text, ["two:", "  x: 2"], NEW) == (
        "term: A\r\nlabs:\r\n  one:\r\n    x: 1\r\n  two:\r\n    x: 2\r\n\r\n# end"
    )
    one, two = "labs:\n one: {}\n", " two: {}\n"
    assert inserted(one.rstrip(), ["two: {}"], NEW) == one + two
    assert inserted(f"{one}term: A\n", ["two: {}"], NEW) == f"{one}{two}term: A\n"


@pytest.mark.parametrize(("edits", "call", "says"), CASES["refused"])
def test_what_can_not_be_is_told(edits, call, says, course, vary):
    for old, new in edits.items():
        exchange(Path("site-data/inventory.yaml"), old, new)
    status, _, messages = vary(call)
    assert status == 2
    assert says in messages
    if "nothing remains" in says:
        names = re.findall("--without ([a-z]+)", messages)
        assert vary(" ".join([call, *(f"--without {name}" for name in names)]))[0] == 0


TOLERANCE = 0.01  # of marking, relative; three significant figures


def test_all_labs_of_the_demo_over_many_terms(tmp_path, run, monkeypatch, thorough):
    """Each proposal is put into the course, so that those of later terms have to differ from it."""
    if thorough:
        copy_of_the_course(tmp_path / "course", whole=True)
    else:
        copy_of_the_course(tmp_path / "course", labs=("two-weights", "incline-held"))
    monkeypatch.chdir(tmp_path / "course")
    last, worn = "2026-autumn", set()
    for year in range(2027, 2047 if thorough else 2029):
        term = f"{year}-autumn"
        status, printed, messages = run("vary", "--term", term, "--after", last, "--write")
        assert (status, messages) == (0, "")
        for part in re.split("^(?=[a-z-]+, Autumn)", printed, flags=re.MULTILINE):
            if "too few of these differ" in part:
                worn.add((term, part.partition(",")[0]))
            else:
                assert "note: " not in part
            assert "the worked example is only" not in part or term > "2031"
        last = term
    status, said, _ = run("check")
    notes = [line for line in said.splitlines() if " note: " in line]
    known = [f"terms/{term}.yaml:[0-9:]+ note: {name}: " for term, name in worn]
    told = [each for each in notes if not any(re.search(one, each) for one in known)]
    assert (status, told) == (0, [])
    print(f"{len(worn)} proposals for which the inventory has no new answers: {sorted(worn)}")
    assert [each for each in worn if each < ("2031",)] == []
    data = load_course(Path("site-data"))
    labs = [(term.id, lab) for term in data.terms for lab in term.labs]
    assert [*_near_and_not_named(data, [lab for term, lab in labs if term > "2026-autumn"])] == []
    for name in {lab.scenario.id for _, lab in labs}:
        given = [each for each in labs if each[1].scenario.id == name]
        assert [*_met_again(given, worn)] == []


def _lesson(scenario):
    apparatus = apparatus_of(scenario, 9.80665)
    return build_lesson(scenario, apparatus, solve(apparatus), figures=3, numbers=True)


def _near_and_not_named(data, labs):
    """Mistakes within three tolerances of the right answer of which the review says nothing; those
    that take the digits of one given for another unit aside, which numbers can't help.
    """
    for lab in labs:
        lesson = _lesson(lab.variant)
        rights = {each.of.id: each.value for each in results(lesson)}
        (findings,) = reviewed([lab.variant], gravity_estimate(data.course), data)
        named = next((each.of for each in findings if each.aspect == "mistakes"), "").split(", ")
        for wrong in slips(lesson):
            right = rights.get(wrong.of.id)
            near = right and abs(wrong.value / right - 1) < 3 * TOLERANCE
            if near and wrong.slip.id not in named:
                yield lab.id, wrong.slip.id, right, wrong.value


def _met_again(labs, worn):
    """Answers of a proposed lab within tolerance of those of an earlier one, or of an example that
    its students can have seen; those aside that hardly differ from term to term, and labs that said
    so. An example may be an earlier one.
    """
    sets = [
        ((term, lab.id), [_rights(each) for each in (lab.variant, lab.example) if each])
        for term, lab in labs
    ]
    every, told = {str(each): each for _, pair in sets for each in pair}, {}
    for rights in every.values():
        for key, value in rights.items():
            told.setdefault(key, set()).add(round(value, 9))
    decided = [key for key, values in told.items() if len(values) > 0.9 * len(every)]
    assert any(key.startswith("tension.") for key in decided)
    before = []
    for name, (own, *examples) in sets:
        for other in (*before, *examples) if name > ("2027",) and name not in worn else ():
            for key in decided:
                if own[key] and abs(other[key] / own[key] - 1) <= TOLERANCE * (1 - 1e-9):
                    yield name, key, own[key], other[key]
        before += [own, *examples]


def _rights(scenario):
    return {each.of.id: each.value for each in results(_lesson(scenario))}
