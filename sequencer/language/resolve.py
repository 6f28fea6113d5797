"""Nodes -> the checked show. Names, kinds, units, properties and ranges are seen to; time is for `schedule/`."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import partial
from itertools import islice

from sequencer.findings import Finding, Label, Span, has_errors
from sequencer.frozen import frozen
from sequencer.language import gestures, tree
from sequencer.language import name_rules as rules
from sequencer.language.amounts import count_of, let_quantities, time_us
from sequencer.language.book import Book, once_a_name, write_book
from sequencer.language.cues import CueReader
from sequencer.language.load import Loaded, ReadFile, load
from sequencer.language.never import at_most, never, night
from sequencer.language.parts import PartBuilder
from sequencer.language.rules import EMPTY_BLOCK, WRONG_PLACE
from sequencer.memo import Memo, noted
from sequencer.rig import KINDS
from sequencer.show.model import (
    Action,
    AtMost,
    NeverSooner,
    NeverWhile,
    Night,
    Placed,
    Routine,
    Safe,
    SensorEdge,
    Show,
)


@frozen
class Resolved:
    """`whole`: every line was understood, so what a later stage misses is really missing.

    `unsure` names the scares and idles with a line that was not; a later stage would only repeat the fault.
    """

    show: Show
    findings: tuple[Finding, ...]
    whole: bool
    unsure: frozenset[str]


def read_show(data: bytes, name: str, read_file: ReadFile, memo: Memo | None = None) -> Resolved:
    """Bytes of a show -> the checked show and its findings. Never raises for what the bytes hold."""
    memo = memo or Memo(lasting=False)
    loaded = load(data, name, read_file, memo)
    lets_findings: list[Finding] = []
    lets = let_quantities([n.head for n in loaded.nodes if isinstance(n.head, tree.Let)], lets_findings)
    book = write_book(loaded.nodes)
    book.lets = lets
    # A token that stays the same object as long as the rest of the show does: cheap to compare in every key.
    around: object = "this check"
    if memo.lasting:
        around = memo.of(("around", tuple(_outer(node, memo) for node in loaded.nodes)), object)
    parts, part_findings = memo.of(("parts", around), lambda: _build_parts(book.apart()))
    resolver = _Resolver(book, parts, loaded, around)
    show = resolver.show(name)
    meant: Iterable[Finding] = (*lets_findings, *book.findings, *part_findings, *resolver.findings)
    if loaded.findings:
        from sequencer.language.echoes import without_echoes  # what only a broken line needs

        meant = without_echoes(meant, loaded.findings)
    findings = once_a_name((*loaded.findings, *meant))
    whole = not resolver.unsure and not has_errors(findings)
    return Resolved(show, findings, whole, frozenset(resolver.unsure))


def _build_parts(book: Book) -> tuple[dict[str, Placed], tuple[Finding, ...]]:
    parts = PartBuilder(book).build_all()
    return parts, tuple(book.findings)


def _outer(node: tree.Node, memo: Memo) -> object:
    """What a scare's meaning can hang on besides its own lines: all else that the show says, of scares their names.

    Of one node; the same object as long as that stays the same.
    """
    if isinstance(node.head, tree.ScareHead):
        return node.head.name.text
    return noted(memo.about(node), "outer", lambda: memo.of(("outer", _said_around(node)), object))


def _said_around(node: tree.Node) -> tuple[object, ...]:
    kept: list[object] = [(node.span, node.text)]
    for child in node.block:
        scare = isinstance(child.head, tree.ScareHead)
        kept.append(child.head.name.text if scare else child.key())  # type: ignore[union-attr]
    return tuple(kept)


@frozen
class _ReadRoutine:
    """`written` is how many lines gestures wrote into it."""

    routine: Routine
    findings: tuple[Finding, ...]
    sure: bool
    written: int


class _Resolver:
    def __init__(
        self, book: Book, parts: Mapping[str, Placed], loaded: Loaded, around: object
    ) -> None:
        self.book = book.apart()
        self.parts = parts
        self.loaded = loaded
        self.around = around
        self.unsure: set[str] = set()
        self.written = 0
        self.findings: list[Finding] = self.book.findings

    def show(self, file: str) -> Show:
        title = self._title(file)
        routines = tuple(self._routines())
        safes = tuple(safe for safe in self._each(tree.Safe, self._safe))
        self.findings += _said_twice(safes)
        self.findings += self._unused()
        nevers: list[NeverWhile | NeverSooner] = list(self._each((tree.NeverWhile, tree.NeverSooner), self._never))
        return Show(
            file, title.title, title.span, self.parts, routines, safes, tuple(nevers),
            tuple(self._at_mosts()), self._night(), self.loaded.texts,
        )

    def _title(self, file: str) -> tree.ShowTitle:
        if self.loaded.title is not None:
            return self.loaded.title
        here = Span(file, 1, 1, 1, 1)
        if self.loaded.nodes and not any(f.span.file == file and f.span.line == 1 for f in self.loaded.findings):
            self.book.findings.append(rules.NO_TITLE.at(here, 'The show has no name: write `show "Name"` first.'))
        return tree.ShowTitle("", here)

    def _scoped(self) -> Iterator[tuple[tree.Node, str | None]]:
        """Every node of the file and of its props, with the prop it stands in; what stands wrongly is said."""
        for node in self.loaded.nodes:
            yield node, None
            head = node.head
            if isinstance(head, tree.PartHead):
                is_prop = head.kind.text == "prop" or ((found := self.book.find(head.name.text, None)) is not None \
                    and found.kind == "prop")
                for child in node.block:
                    if is_prop:
                        yield child, head.name.text

    def _each(self, kind: type | tuple[type, ...], read: Callable) -> Iterator:
        for node, prop in self._scoped():
            if isinstance(node.head, kind):
                value = read(node, prop)
                if value is not None:
                    yield value

    # Scares and idles

    def _routines(self) -> Iterator[Routine]:
        for node, prop in self._scoped():
            self._check_place(node, prop)
            if isinstance(node.head, tree.ScareHead):
                read = self._remembered(node, prop)
                self.findings += read.findings
                if not read.sure:
                    self.unsure.add(read.routine.name)
                yield read.routine

    def _remembered(self, node: tree.Node, prop: str | None) -> _ReadRoutine:
        head = node.head
        assert isinstance(head, tree.ScareHead)
        full = self.written > gestures.MOST_LINES_OF_A_SHOW
        memo = self.loaded.memo
        reading = partial(_read_routine, self.book.apart(), self.parts, node, head, prop, full)
        read: _ReadRoutine
        if memo.lasting:
            # A node that was read anew from the same text is as good as the one before.
            read = noted(memo.about(self.around, node), (prop, full), lambda: memo.of(
                ("routine", self.around, prop, full, node.key()), reading))
        else:
            read = reading()
        self.written += read.written
        if not full and self.written > gestures.MOST_LINES_OF_A_SHOW:
            message = (f"With this {'idle' if head.idle else 'scare'} gestures have written more than "
                       f"{gestures.MOST_LINES_OF_A_SHOW:,} lines into the show, which no board holds; those below are "
                       "not written in.")
            self.findings.append(rules.GESTURE.at(head.name.span, message))
        return read

    def _unused(self) -> Iterator[Finding]:
        if all(one.kind != "gesture" for one in self.book.names.values()):
            return
        from sequencer.language.unused import MOST_UNUSED, check_unused, unused_gestures  # most shows have no gesture

        unused = unused_gestures(self._scoped(), self.book, self.loaded.memo)
        for gesture in islice(unused, MOST_UNUSED):
            key = ("unused", self.around, gesture.name)
            yield from self.loaded.memo.of(key, partial(check_unused, gesture, self.book, self.parts))

    def _check_place(self, node: tree.Node, prop: str | None) -> None:
        head = node.head
        misplaced = isinstance(head, tree.Cue | tree.Arm | tree.Otherwise | tree.WhileRunning | tree.Rest)
        if misplaced or (prop is None and isinstance(head, tree.Properties)):
            message = "This line belongs into the block of a part or a scare; indent it, or put its line above it."
            self.book.findings.append(WRONG_PLACE.at(node.span, message))
        if isinstance(head, tree.GestureHead) and not node.block:
            self.book.findings.append(EMPTY_BLOCK.at(node.span, f"`{head.name.text}` has no lines below it."))
        if isinstance(head, tree.PartHead) and head.kind.text in KINDS and head.kind.text != "prop":
            for child in node.block:
                if not isinstance(child.head, tree.Properties | tree.Broken) and not child.repaired:
                    message = f"A {head.kind.text} holds properties only; {_where(child.head)}."
                    self.book.findings.append(WRONG_PLACE.at(child.span, message))

    # What must never happen, and the night

    def _safe(self, node: tree.Node, prop: str | None) -> Safe:
        head = node.head
        assert isinstance(head, tree.Safe)
        reader = CueReader(self.book, self.parts, prop, held=True)
        edges = [reader.edge(edge) for edge in head.edges]
        phrases = [*head.actions]
        for child in node.block:
            if isinstance(child.head, tree.Properties):
                phrases += child.head.phrases
        actions = reader.actions(phrases)
        if not phrases and not node.block and not edges:
            self.book.findings.append(rules.NOTHING_SAID.at(node.span, f"This `{head.word}` says nothing."))
        return Safe(head.word, tuple(edge for edge in edges if edge is not None), actions, node.span)

    def _never(self, node: tree.Node, prop: str | None) -> NeverWhile | NeverSooner | None:
        return never(node, self.book, self.parts, prop)

    def _at_mosts(self) -> Iterator[AtMost]:
        for node, prop in self._scoped():
            if isinstance(node.head, tree.AtMost):
                found = at_most(node, self.book, prop)
                if found is not None:
                    yield found

    def _night(self) -> Night | None:
        nights = [node for node in self.loaded.nodes if isinstance(node.head, tree.Night)]
        for extra in nights[1:]:
            label = Label(nights[0].span, "the first one")
            self.book.findings.append(rules.TWICE.at(extra.span, "There are two nights.", labels=(label,)))
        return night(nights[0], self.book) if nights else None


def _where(head: tree.Head) -> str:
    """Where a line belongs that stands in a part which is no prop."""
    match head:
        case tree.PartHead(kind=kind):
            return f"a {kind.text} stands at the left edge or in a prop"
        case tree.ScareHead(idle=idle):
            return f"{'an idle' if idle else 'a scare'} stands at the left edge or in a prop"
        case tree.GestureHead() | tree.Safe() | tree.NeverWhile() | tree.NeverSooner() | tree.AtMost():
            return "this line stands at the left edge or in a prop"
    return "this line belongs into a scare"


def _read_routine(
    book: Book, parts: Mapping[str, Placed], node: tree.Node, head: tree.ScareHead, prop: str | None, full: bool
) -> _ReadRoutine:
    """One scare or idle, and what is wrong with it; `full`: no gesture is written in any more."""
    reader = CueReader(book, parts, prop, room=gestures.Room(0, said=True) if full else gestures.Room())
    name = f"{prop}.{head.name.text}" if prop is not None else head.name.text
    edges = [reader.edge(edge) for edge in head.edges]
    every = _every(book, head)
    policy = _Policy(book, prop)
    for child in node.block:
        policy.read(child)
    cues = reader.cues(node.block)
    if not node.block:
        book.findings.append(EMPTY_BLOCK.at(node.span, f"`{head.name.text}` has no lines below it."))
    routine = Routine(
        name, head.label, prop, head.idle, head.name.span, tuple(edge for edge in edges if edge is not None),
        every, head.at_arming, policy.while_running, policy.blocked_while, policy.rest_us, policy.rank, cues,
    )
    sure = reader.whole and policy.whole and not node.repaired and None not in edges
    return _ReadRoutine(routine, tuple(book.findings), sure, gestures.MOST_LINES - max(reader.room.left, 0))


def _every(book: Book, head: tree.ScareHead) -> tuple[int, int] | None:
    """`every 90 s to 150 s`."""
    if head.every is None:
        return None
    least, most = (time_us(amount, book.lets, book.findings, least_us=1000) for amount in head.every)
    if least is None or most is None:
        return None
    if least > most:
        message = f"The range runs backwards: {head.every[0].atoms[0].text} is more than the end of it."
        book.findings.append(rules.OUT_OF_RANGE.at(head.every[0].span.to(head.every[1].span), message))
        return None
    return least, most


def _said_twice(safes: tuple[Safe, ...]) -> Iterator[Finding]:
    """There is one safe state: two lines must not send one part to two places."""
    first: dict[tuple[str, str], Action] = {}
    for safe in safes:
        for action in safe.actions:
            before = first.setdefault((safe.word, action.who), action)
            if before is not action and before.drives != action.drives:
                label = Label(before.span, "said otherwise here")
                message = f"`{safe.word}` sends `{action.who}` to two states; the safe state is one."
                yield rules.CONTRADICTION.at(action.span, message, labels=(label,))
    ends: dict[str, tuple[str, SensorEdge]] = {}
    for safe in safes:
        for edge in safe.edges:
            word, first = ends.setdefault(edge.sensor, (safe.word, edge))
            if (word, first.trips) != (safe.word, edge.trips):
                label = Label(first.span, f"`{word}` when it {_change(first)}")
                message = (f"`{edge.sensor}` cannot be the {safe.word} when it {_change(edge)} and also the {word} "
                           f"when it {_change(first)}.")
                yield rules.CONTRADICTION.at(edge.span, message, labels=(label,))


def _behind_a_cue(head: tree.Head) -> str:
    if isinstance(head, tree.Rest):
        wait = " ".join(atom.text for atom in head.amount.atoms)
        return (f"`rest` is how long the scare does not start again after its end, and stands above the first cue; a "
                f"pause between cues is the time of the next line, such as `+{wait}:`.")
    return "This line says how the scare starts, and stands above its first cue."


def _change(edge: SensorEdge) -> str:
    return "trips" if edge.trips else "clears"


class _Policy:
    """The lines of a scare before its cues: when it may start again, and how long it rests."""

    def __init__(self, book: Book, prop: str | None) -> None:
        self.book, self.prop = book, prop
        self.while_running, self.blocked_while = "ignore", None
        self.rest_us, self.rank = 0, 8
        self.whole = True
        self._said: dict[type, Span] = {}
        self._cues_began = False

    def read(self, node: tree.Node) -> None:
        head = node.head
        if isinstance(head, tree.Cue):
            self._cues_began = True
        elif isinstance(head, tree.WhileRunning | tree.WhileTripped | tree.Rest | tree.Rank):
            if self._cues_began:
                self.book.findings.append(WRONG_PLACE.at(node.span, _behind_a_cue(head)))
                return
            before = self._said.setdefault(type(head), node.span)
            if before != node.span:
                label = Label(before, "said here first")
                self.book.findings.append(rules.SAID_TWICE.at(node.span, "This is said twice.", labels=(label,)))
        elif node.repaired or isinstance(head, tree.Broken):
            self.whole = False
        match head:
            case tree.WhileRunning(policy, _):
                self.while_running = policy
            case tree.WhileTripped(sensor):
                self.blocked_while = self.book.look_up(sensor.text, sensor.span, ("sensor",), self.prop)
            case tree.Rest(amount):
                self.rest_us = time_us(amount, self.book.lets, self.book.findings) or 0
            case tree.Rank(atom):
                rank = count_of(atom, 0, 15, self.book.findings)
                self.rank = rank if rank is not None else 8


def read_only(files: Mapping[str, bytes]) -> ReadFile:
    """A reader over files in memory."""

    def read(name: str) -> bytes:
        if name not in files:
            raise FileNotFoundError(f"there is no file {name}")
        return files[name]

    return read


