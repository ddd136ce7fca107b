"""Who looks at whom: same number of readers, same loads, apart stays apart, over 3 to 40 makers."""

import os
import subprocess
import sys
from collections import Counter
from itertools import combinations
from random import Random

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from rubrics.stats.dealing import deal, replace_absent
from rubrics.stats.errors import CannotTellError
from rubrics.stats.grouping import group, readers_at, regroup, sizes
from tests.stats.dealt import by_reader, meetings

makers_and_readers = st.tuples(st.integers(3, 40), st.integers(2, 4)).filter(lambda s: s[0] > s[1])
seeds = st.integers(0, 2**31)


def holds(dealt, readers, apart=()):
    """All that a deal promises, looked up in what it gives out."""
    assert set(dealt.by_piece()) == set(dealt.makers)
    for maker, those in dealt.by_piece().items():
        assert len(set(those)) == len(those) == readers
        assert maker not in those
    for reader, makers in by_reader(dealt).items():
        assert all(reader in dealt.by_piece()[maker] for maker in makers)
        for maker in makers:
            assert (reader, maker) not in apart
            assert (maker, reader) not in apart


@pytest.mark.parametrize("readers", [2, 3, 4])
def test_even_readers_loads_and_meetings_for_three_to_forty(readers):
    for count in range(readers + 1, 41):
        dealt = deal(range(count), readers=readers, seed=count)
        holds(dealt, readers)
        assert {len(each) for each in by_reader(dealt).values()} == {readers}
        # The most even there can be: all pairs of readers meet on n r (r - 1) / 2 pieces' pairs in
        # all, so each as often as every other, or once more.
        met = meetings(dealt)
        assert max(met) - min(met) <= 1
        assert sum(met) == count * readers * (readers - 1) // 2


@pytest.mark.parametrize(
    ("makers", "readers", "times"),
    # The symmetric balanced incomplete block designs with blocks of 2 to 4 (v, k, lambda), among
    # them the Fano plane (7, 3, 1) and the projective plane of order three (13, 4, 1).
    [(3, 2, 1), (4, 3, 2), (5, 4, 3), (7, 3, 1), (7, 4, 2), (13, 4, 1)],
)
def test_a_balanced_incomplete_block_design_where_there_is_one(makers, readers, times):
    dealt = deal(range(makers), readers=readers, seed=1)
    assert set(meetings(dealt)) == {times}


def some_pairs(count, most):
    one = st.integers(0, count - 1)
    return st.lists(st.tuples(one, one).filter(lambda pair: pair[0] != pair[1]), max_size=most)


@settings(max_examples=150, deadline=None)
@given(makers_and_readers, seeds, st.data())
def test_pairs_are_kept_apart_or_it_is_said_why_not(shape, seed, data):
    count, readers = shape
    apart = data.draw(some_pairs(count, 3 * count))
    if not possible(count, readers, apart):
        with pytest.raises(CannotTellError, match="Take back one or more of the pairs kept apart"):
            deal(range(count), readers=readers, apart=apart, seed=seed)
        return
    dealt = deal(range(count), readers=readers, apart=apart, seed=seed)
    holds(dealt, readers, set(apart))
    assert {len(each) for each in by_reader(dealt).values()} == {readers}


def possible(count, readers, apart):
    """Whether anybody can deal: maximum flow of SciPy, everybody ``readers`` in and out."""
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import maximum_flow

    shut = {frozenset(pair) for pair in apart}
    source, sink = 2 * count, 2 * count + 1
    edges = [(source, i, readers) for i in range(count)]
    edges += [(count + i, sink, readers) for i in range(count)]
    edges += [
        (i, count + j, 1)
        for i in range(count)
        for j in range(count)
        if i != j and frozenset((i, j)) not in shut
    ]
    rows, columns, capacities = zip(*edges, strict=True)
    graph = csr_array((capacities, (rows, columns)), shape=(sink + 1, sink + 1), dtype="int32")
    return maximum_flow(graph, source, sink).flow_value == count * readers


@settings(max_examples=60, deadline=None)
@given(makers_and_readers, seeds, st.data())
def test_a_few_pairs_apart_leave_the_meetings_even(shape, seed, data):
    count, readers = shape
    assume(count >= 16)
    apart = data.draw(some_pairs(count, 4))
    met = meetings(deal(range(count), readers=readers, apart=apart, seed=seed))
    assert max(met) - min(met) <= 1


@settings(max_examples=100, deadline=None)
@given(makers_and_readers, seeds, st.data())
def test_absent_readers_are_replaced_and_all_else_stays(shape, seed, data):
    count, readers = shape
    dealt = deal(range(count), readers=readers, seed=seed)
    most = count - readers - 1
    absent = data.draw(st.sets(st.integers(0, count - 1), max_size=min(most, 6)))
    found = replace_absent(dealt, absent)
    holds(found, readers)
    loads = {reader: len(each) for reader, each in by_reader(found).items()}
    present = [loads[maker] for maker in range(count) if maker not in absent]
    assert all(loads[maker] == 0 for maker in absent)
    assert max(present) - min(present) <= 1
    if len(absent) == 1 and count > 12:
        moved = sum(
            len(set(dealt.by_piece()[maker]) - set(found.by_piece()[maker]))
            for maker in range(count)
        )
        assert moved == readers  # the absent one's places, no other
    assert replace_absent(found, ()).by_piece() == found.by_piece()


def test_a_replacement_keeps_apart_too():
    apart = [(0, 1), (2, 3), (4, 5)]
    dealt = deal(range(12), readers=3, apart=apart, seed=5)
    holds(replace_absent(dealt, [6, 7, 8]), 3, set(apart))


def test_the_seed_gives_the_deal_again_on_any_day():
    # Names: the order of a set of strings changes from run to run.
    names = [f"K3-{i:02}" for i in range(12)]
    apart = [(names[i], names[i + 1]) for i in range(11)] + [(names[0], n) for n in names[4:9]]
    code = (
        "from rubrics.stats.dealing import deal, replace_absent\n"
        f"d = deal({names}, apart={apart}, seed=3)\n"
        f"print(d.readers, replace_absent(d, {names[2:5]}).readers)"
    )
    said = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONHASHSEED": str(hashing)},
            capture_output=True,
            check=True,
        ).stdout
        for hashing in (1, 2, 3)
    }
    assert len(said) == 1
    assert deal(names, seed=3).readers != deal(names, seed=4).readers


@pytest.mark.parametrize(
    ("makers", "readers", "apart", "said"),
    [
        ("AB", 2, [], "2 makers are too few for 2 readers a piece: it takes 3"),
        ("ABC", 3, [], "it takes 4"),
        ("ABCD", 5, [], "it can be 1 to 4"),
        ("ABCA", 2, [], "A is on the list twice"),
        ("ABCDE", 3, ["AB", "AC"], "for the pieces of: A. Take back .* A and B; A and C"),
        ("ABCDE", 4, ["BE"], "pieces of: .*B and E"),
        # Each has enough readers alone, but the four together have E, F and G only.
        ("ABCDEFG", 3, ["AB", "AC", "AD", "BC", "BD", "CD"], "A and B; A and C; A and D; B and C"),
    ],
)
def test_what_cannot_be_dealt(makers, readers, apart, said):
    with pytest.raises(CannotTellError, match=said):
        deal(list(makers), readers=readers, apart=apart, seed=1)


def test_too_few_are_present():
    with pytest.raises(CannotTellError, match="3 are present: too few for 3 readers"):
        replace_absent(deal(range(5), readers=3, seed=1), [0, 1])
    dealt = deal(range(5), readers=3, apart=[(3, 4)], seed=1)
    with pytest.raises(CannotTellError, match="3 and 4"):
        replace_absent(dealt, [0])


def test_pairs_with_strangers_are_passed_over():
    holds(deal(range(5), readers=3, apart=[(0, "gone"), (1, 1)], seed=1), 3)


@pytest.mark.parametrize("size", [3, 4])
def test_groups_of_three_and_four(size):
    for count in range(3, 41):
        found = sizes(count, size)
        assert sum(found) == count
        assert set(found) <= {3, 4} or count == 5
        if count % size == 0:
            assert set(found) == {size}


def any_grouping(makers, room, apart):
    """Whether the first maker, and then the rest, can be put into groups without a pair."""
    if not makers:
        return True
    first, *rest = makers
    for size in set(room):
        left = list(room)
        left.remove(size)
        for others in combinations(rest, size - 1):
            those = {first, *others}
            if not any(set(pair) <= those for pair in apart):
                remaining = [maker for maker in rest if maker not in those]
                if any_grouping(remaining, left, apart):
                    return True
    return False


@settings(max_examples=100, deadline=None)
@given(st.integers(3, 40), st.sampled_from([3, 4]), seeds, st.data())
def test_groups_keep_pairs_apart(count, size, seed, data):
    apart = data.draw(some_pairs(count, count // 3))
    # From twelve makers on so few pairs always leave a way; below, all groupings are gone through.
    if count < 12 and not any_grouping(range(count), sizes(count, size), apart):
        with pytest.raises(CannotTellError, match="Take back"):
            group(range(count), size=size, apart=apart, seed=seed)
        return
    found = group(range(count), size=size, apart=apart, seed=seed).groups
    assert sorted(maker for each in found for maker in each) == list(range(count))
    assert sorted(map(len, found)) == sorted(sizes(count, size))
    shut = {frozenset(pair) for pair in apart}
    assert not any(frozenset(pair) in shut for each in found for pair in combinations(each, 2))
    assert group(range(count), size=size, apart=apart, seed=seed).groups == found


def test_groups_that_cannot_be():
    with pytest.raises(CannotTellError, match=r"No groups of 3 were found.*one of: A and B"):
        group("ABCDEF", apart=["AB", "AC", "AD", "AE"], seed=1)
    with pytest.raises(CannotTellError, match="some of: A and B; C and D"):
        group("ABCDE", apart=["AB", "CD"], seed=1)
    with pytest.raises(CannotTellError, match="too few"):
        group("AB", seed=1)
    with pytest.raises(CannotTellError, match="three or four"):
        group("ABCDEF", size=2, seed=1)


@pytest.mark.parametrize("count", range(6, 41))
@pytest.mark.parametrize("size", [3, 4])
def test_groups_have_three_present_whoever_goes_and_keep_pairs_apart(count, size):
    """By exhaustion of properties: everybody at one table, three present, no pair together."""
    chance = Random(f"{count} {size}")
    makers = list(range(count))
    apart = [(0, count - 1), (1, count - 2)] if count >= 12 else []
    tables = group(makers, size=size, apart=apart, seed=1).groups
    away = set(chance.sample(makers, count // 3))
    after = regroup(tables, away, size=size, apart=apart, seed=1)
    assert sorted(maker for those in after for maker in those) == makers
    assert all(3 <= len(set(those) - away) <= 5 for those in after)
    assert not any({one, other} <= set(those) for one, other in apart for those in after)
    assert regroup(after, away, size=size, apart=apart, seed=1) == after


@pytest.mark.parametrize("count", range(3, 41))
@pytest.mark.parametrize("size", [3, 4])
def test_at_tables_every_piece_gets_as_many_readers(count, size):
    tables = group(range(count), size=size, seed=1).groups
    readers, found = readers_at(tables)
    assert readers == min(map(len, tables)) - 1
    for those in tables:
        load = Counter(reader for maker in those for reader in found[maker])
        assert set(load.values()) == {readers}
        for maker in those:
            assert maker not in found[maker]
            assert set(found[maker]) < set(those)
            assert len(set(found[maker])) == readers


@settings(max_examples=100, deadline=None)
@given(st.integers(6, 40), st.sampled_from([3, 4]), seeds, st.data())
def test_whoever_goes_every_piece_keeps_as_many_readers(count, size, seed, data):
    tables = group(range(count), size=size, seed=seed).groups
    before, had = readers_at(tables)
    gone = data.draw(st.sets(st.integers(0, count - 1), max_size=count - 4))
    after = regroup(tables, gone, size=size, seed=seed)
    # One reader's work is sent: it stays, wherever that reader went.
    maker, (sender, *_rest) = data.draw(st.sampled_from(sorted(had.items())))
    readers, found = readers_at(after, absent=gone, held={maker: [sender]}, standing=had)
    assert sender in found[maker]
    assert 2 <= readers <= 4
    for those in after:
        for each in those:
            assert len(set(found[each])) == len(found[each]) == readers
            assert each not in found[each]
            assert set(found[each]) - {sender} <= set(those) - gone
    # Nobody's work moves where nobody went.
    if not gone:
        assert (readers, found) == (before, had)


def test_more_than_the_count_stay_where_they_are_begun():
    readers, found = readers_at(["ABCD", "EFG"], held={"A": "BCD"}, standing={"B": "ACD"})
    assert readers == 2
    assert found["A"] == ("B", "C", "D")
    assert {len(those) for maker, those in found.items() if maker != "A"} == {2}
