"""Cue lines -> cues of the checked show: times in microseconds, every action known to its part."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from sequencer.findings import Edit, Label, Mend, Span, closest
from sequencer.language import gestures, tree
from sequencer.language import name_rules as rules
from sequencer.language.amounts import MOST_ROUNDS, count_of, in_ms, time_us
from sequencer.language.book import ROUTINES, Book, Declared
from sequencer.language.clip_words import clips_of_file, speaker_of
from sequencer.language.rules import EMPTY_BLOCK
from sequencer.language.wording import Speaking, word_mismatch
from sequencer.phrases import Atom, AtomKind, Mismatch, Ref, Value, read_phrase
from sequencer.rig import KINDS
from sequencer.rig.drive import Drive, StartRoutine, StopRoutine
from sequencer.show.model import (
    Action,
    After,
    Arm,
    At,
    Block,
    Branch,
    Cue,
    IfSensor,
    NthRun,
    PickOne,
    Placed,
    Repeat,
    SensorEdge,
    When,
    WhenSensor,
)

ROUTINE_VERBS = ("starts", "stops")
ACTORS = (*KINDS, *ROUTINES)
_OTHER_WORDS = {
    "on": ("runs", "opens"), "off": ("stops", "closes", "falls silent"), "stop": ("stops", "falls silent", "off"),
    "start": ("runs", "on"), "starts": ("runs", "on"), "silent": ("falls silent",),
    "home": ("retracts",), "out": ("extends",), "back": ("retracts",), "in": ("retracts",),
}
"""What is said of a part in the words of another kind, and what may be meant; what the part knows is offered."""
_ENDS = ("home", "out")
ALL_VERBS = frozenset((*ROUTINE_VERBS, *(verb.phrase.split()[0] for kind in KINDS.values() for verb in kind.verbs)))


@dataclass(slots=True)
class CueReader:
    """Reads the cue lines of one prop, or of the top level. `whole` turns false when a line could not be read.

    `held`: of the safe state, which knows no time.
    Inside a gesture `uses` are the uses that led there, `stands` the places that the last of them filled.
    """

    book: Book
    parts: Mapping[str, Placed]
    prop: str | None
    whole: bool = True
    uses: list[tuple[str, Span]] = field(default_factory=list)
    stands: Mapping[Span, gestures.Stand] = field(default_factory=dict)
    room: gestures.Room = field(default_factory=gestures.Room)
    held: bool = False

    def cues(self, nodes: Sequence[tree.Node]) -> tuple[Cue, ...]:
        """The cues of one block; `otherwise:` joins the branch above it."""
        cues: list[Cue] = []
        for node in nodes:
            head = node.head
            if node.repaired or isinstance(head, tree.Broken):
                self.whole = False
            if isinstance(head, tree.Cue):
                cue = self._cue(node, head)
                if cue is not None:
                    cues.append(cue)
            elif isinstance(head, tree.Otherwise):
                self._otherwise(node, head, cues)
        return tuple(cues)

    def _cue(self, node: tree.Node, head: tree.Cue) -> Cue | None:
        when = self._when(head.when)
        if head.block is None and not head.actions:
            self.whole = False
            self.book.findings.append(rules.NOTHING_SAID.at(node.span, "This line has a time and no action."))
            return None
        cue = self._line(node.span, head.when_span, head.actions, self._block(node, head))
        if when is None or cue is None:
            self.whole = False
            return None
        return replace(cue, when=when)

    def _line(
        self, span: Span, when_span: Span, phrases: Sequence[tree.Phrase], block: Block | None
    ) -> Cue | None:
        """What a line does, at the start of its block; a gesture it uses becomes its block."""
        uses = [phrase for phrase in phrases if gestures.is_use(phrase)]
        actions = self.actions([phrase for phrase in phrases if phrase not in uses])
        if uses:
            block = self._gesture(uses, actions, when_span)
            actions = ()
        if block is None and not actions:
            return None
        return Cue(At(0), when_span, span, actions, block, self.uses[0][1] if self.uses else None)

    def _when(self, when: tree.When) -> When | None:
        findings, lets = self.book.findings, self.book.lets
        match when:
            case tree.At(amount):
                us = time_us(amount, lets, findings)
                return At(us, in_ms(amount, lets)) if us is not None else None
            case tree.After(amounts, then, _):
                times = [time_us(amount, lets, findings) for amount in amounts] or [0]
                least, most = times[0], times[-1]
                if least is None or most is None:
                    return None
                return After(least, most, then, any(in_ms(amount, lets) for amount in amounts))
            case tree.WhenSensor(edge, bound):
                found, us = self.edge(edge), time_us(bound, lets, findings)
                return WhenSensor(found, us) if found is not None and us is not None else None

    def edge(self, edge: tree.Edge) -> SensorEdge | None:
        name = self.book.look_up(edge.sensor.text, edge.sensor.span, ("sensor",), self.prop)
        return SensorEdge(name, edge.trips, edge.sensor.span) if name is not None else None

    def sensor(self, name: tree.Name) -> str | None:
        return self.book.look_up(name.text, name.span, ("sensor",), self.prop)

    # Blocks

    def _block(self, node: tree.Node, head: tree.Cue) -> Block | None:
        match head.block:
            case None:
                return None
            case tree.Repeat():
                return self._repeat(node, head.block)
            case tree.PickOne():
                return self._pick_one(node)
            case tree.IfSensor(sensor, tripped):
                name, body = self.sensor(sensor), self._body(node)
                return Branch(IfSensor(name, tripped), body, ()) if name is not None else None
            case tree.NthRun(ordinal):
                n, body = count_of(ordinal, 2, 255, self.book.findings), self._body(node)
                return Branch(NthRun(n), body, ()) if n is not None else None

    def _body(self, node: tree.Node) -> tuple[Cue, ...]:
        if not node.block:
            self.whole = False
            self.book.findings.append(EMPTY_BLOCK.at(node.span, "This block has no lines of its own below it."))
        return self.cues(node.block)

    def _repeat(self, node: tree.Node, head: tree.Repeat) -> Repeat | None:
        body = self._body(node)
        every = self._optional(head.every)
        findings, lets = self.book.findings, self.book.lets
        if head.times is not None:
            times = count_of(head.times, 1, MOST_ROUNDS, findings)
            return Repeat(body, times=times, every_us=every) if times is not None else None
        if head.for_ is not None:
            us = time_us(head.for_, lets, findings, least_us=1000)
            return Repeat(body, for_us=us, every_us=every) if us is not None else None
        assert head.until is not None and head.bound is not None
        until, bound = self.edge(head.until), time_us(head.bound, lets, findings, least_us=1000)
        if until is None or bound is None:
            return None
        return Repeat(body, until=until, bound_us=bound, every_us=every)

    def _optional(self, amount: tree.Phrase | None) -> int | None:
        if amount is None:
            return None
        return time_us(amount, self.book.lets, self.book.findings, least_us=1000)

    def _pick_one(self, node: tree.Node) -> PickOne | None:
        findings = self.book.findings
        arms: list[Arm] = []
        wholes: list[tuple[int, Span]] = []
        for child in node.block:
            if not isinstance(child.head, tree.Arm):
                self.whole = False
                continue
            weight, of = (count_of(atom, 1, 255, findings) for atom in (child.head.weight, child.head.of))
            body = self._inline(child, child.head.actions)
            if weight is not None and of is not None:
                arms.append(Arm(weight, body, child.span))
                wholes.append((of, child.head.of.span))
        if len(arms) < len(node.block):
            self.whole = False
        if not arms or len(wholes) < len(node.block):
            return None
        return PickOne(tuple(arms)) if self._weights_fit(arms, wholes) else None

    def _weights_fit(self, arms: list[Arm], wholes: list[tuple[int, Span]]) -> bool:
        whole, span = wholes[0]
        for other, place in wholes:
            if other != whole:
                label = Label(span, f"counts from {whole}")
                message = f"This arm counts from {other}, the first from {whole}; all count from the same."
                self.book.findings.append(rules.WEIGHTS.at(place, message, labels=(label,)))
                return False
        total = sum(arm.weight for arm in arms)
        if total != whole:
            message = f"The arms make {total} of {whole} together; they are to make {whole} of {whole}."
            self.book.findings.append(rules.WEIGHTS.at(span, message))
        return total == whole

    def _inline(self, node: tree.Node, actions: Sequence[tree.Phrase]) -> tuple[Cue, ...]:
        """The body of an arm or `otherwise:`: lines below, or actions behind the colon at its start."""
        if not actions:
            return self._body(node)
        first = self._line(node.span, node.span, actions, None)
        return (*((first,) if first is not None else ()), *self.cues(node.block))

    def _otherwise(self, node: tree.Node, head: tree.Otherwise, cues: list[Cue]) -> None:
        body = self._inline(node, head.actions)
        last = cues[-1] if cues else None
        if last is not None and isinstance(last.block, Branch) and not last.block.no:
            cues[-1] = replace(last, block=replace(last.block, no=body))
        elif self.whole:
            message = "There is no `if` or `every 3rd run` right above this `otherwise:`."
            self.book.findings.append(rules.OTHERWISE.at(node.span, message))

    # Actions

    def actions(self, phrases: Sequence[tree.Phrase]) -> tuple[Action, ...]:
        found = [self._action(phrase) for phrase in phrases]
        if None in found:
            self.whole = False
        return tuple(action for action in found if action is not None)

    def _action(self, phrase: tree.Phrase) -> Action | None:
        who, *does = phrase.atoms
        declared = self._who(who)
        if declared is None:
            return None
        if declared.kind in ROUTINES:
            return self._routine_action(declared, phrase)
        kind = KINDS[declared.kind or ""]
        of = Speaking(f"{kind.article} {kind.kind}", "action")
        templates = tuple(verb.phrase for verb in kind.verbs)
        if not does:
            choices = ", ".join(dict.fromkeys(f"`{verb.split(' {')[0]}`" for verb in templates))
            message = f"What `{who.text}` is to do is missing: {choices}." if templates else (
                f"`{who.text}` is {of.whose}; a cue cannot ask anything of it.")
            self.book.findings.append(rules.WRONG_WORDS.at(who.span, message))
            return None
        outcome = read_phrase(does, templates, self.book.lets)
        if isinstance(outcome, Mismatch):
            self._not_an_action(phrase, does, outcome, templates, of)
            return None
        placed = self.parts.get(declared.name)
        if placed is None:  # something is wrong with its own line, and that is told there
            return None
        return self._driven(placed, outcome.template, outcome.values, phrase.span)

    def _who(self, who: Atom) -> Declared | None:
        if who.kind is not AtomKind.WORD:
            message = f"An action starts with the name of a part, not `{who.text}`."
            self.book.findings.append(rules.WRONG_WORDS.at(who.span, message))
            return None
        speaker = speaker_of(who.text, self.book, self.parts, self.prop)
        if speaker is not None:
            says = f"{self.book.short(speaker, self.prop)} plays {who.text}"
            message = f"`{who.text}` is a clip of `{speaker}`; a cue asks the speaker: `{says}`."
            self.book.findings.append(rules.WRONG_WORDS.at(who.span, message))
            return None
        name = self.book.look_up(who.text, who.span, ACTORS, self.prop)
        return self.book.names[name] if name is not None else None

    def _not_an_action(
        self, phrase: tree.Phrase, does: Sequence[Atom], miss: Mismatch, templates: Sequence[str], of: Speaking
    ) -> None:
        who = phrase.atoms[0]
        if miss.index == 0 and who.span in self.stands and does[0].text in ALL_VERBS:
            # The gesture asks for something that a part can do; the use names a part that cannot.
            gesture, _ = self.uses[-1]
            message = f"`{gesture}` asks `{who.text}` for `{does[0].text}`, and {of.whose} has no such action."
            self.book.findings.append(rules.UNKNOWN_WORDS.at(who.span, message))
            return
        finding = word_mismatch(does, miss, templates, self.book.lets, of)
        if does[0].text == "plays" and len(does) == 2 and does[1].kind is AtomKind.TEXT:
            finding = replace(finding, mends=clips_of_file(
                phrase.atoms[0].text, does[1], self.book, self.parts, self.prop))
        if miss.index == 0 and (does[0].text in _OTHER_WORDS or not finding.mends):
            able = [verb for verb in templates if "{" not in verb or not self.held or verb == "to {level:share}"]
            could = ", ".join(dict.fromkeys(f"`{verb.split(' {')[0]}`" for verb in able))
            meant = [word for word in _OTHER_WORDS.get(does[0].text, ()) if word in templates]
            mends = tuple(Mend(f"write `{word}`", (Edit(does[0].span, word),)) for word in meant)
            if does[0].text in _ENDS:
                # A place is no action: in a cue it can be landed at, in the safe state the rod is sent there.
                mends = mends if self.held else (*finding.mends, *mends)
            message = f"{finding.message} It can: {could}." if could else finding.message
            finding = replace(finding, message=message, mends=mends or finding.mends)
        self.book.findings.append(finding)

    def _driven(
        self, placed: Placed, template: str, values: Mapping[str, Value], span: Span
    ) -> Action | None:
        part = placed.part
        verb = next(verb for verb in part.verbs if verb.phrase == template)
        plain: dict[str, Any] = {}
        for name, value in values.items():
            plain[name] = value.value
            if isinstance(value.value, Ref):
                what = value.value.kinds[0]
                if value.value.name not in part.declared(what):
                    self._no_such(part.declared(what), what, value)
                    return None
                plain[name] = value.value.name
        try:
            drives = verb.drives(part, plain)
        except ValueError as error:
            from pydantic_core import PydanticCustomError

            if not isinstance(error, PydanticCustomError):
                raise
            context: Any = error.context or {}
            place = values[context["field"]].span if context.get("field") in values else span
            rule = rules.OUT_OF_RANGE if error.type == "range" else rules.CONTRADICTION
            message = error.message()
            self.book.findings.append(rule.at(place, f"{message[:1].upper()}{message[1:]}."))
            return None
        return Action(part.name, template, drives, span, tuple(place for _, place in self.uses))

    def _no_such(self, names: Sequence[str], what: str, value: Value) -> None:
        assert isinstance(value.value, Ref)
        near = closest(value.value.name, names)
        mends = [Mend(f"write `{word}`", (Edit(value.span, word),)) for word in near]
        has = ", ".join(f"`{name}`" for name in names) or "none"
        message = f"There is no {what} `{value.value.name}`; there is {has}."
        self.book.findings.append(rules.UNKNOWN_NAME.at(value.span, message, mends=mends))

    def _routine_action(self, declared: Declared, phrase: tree.Phrase) -> Action | None:
        does = phrase.atoms[1:]
        outcome = read_phrase(does, ROUTINE_VERBS, {}) if does else None
        if isinstance(outcome, Mismatch) or outcome is None:
            of = Speaking(f"a {declared.kind}", "action")
            if isinstance(outcome, Mismatch):
                self._not_an_action(phrase, does, outcome, ROUTINE_VERBS, of)
            else:
                message = f"What `{declared.name}` is to do is missing: `starts` or `stops`."
                self.book.findings.append(rules.WRONG_WORDS.at(phrase.span, message))
            return None
        drive: Drive = StartRoutine(declared.name) if outcome.template == "starts" else StopRoutine(declared.name)
        return Action(declared.name, outcome.template, (drive,), phrase.span)

    # Gestures

    def _gesture(self, uses: list[tree.Phrase], actions: tuple[Action, ...], when_span: Span) -> Block | None:
        """A use is a block that runs once: the actions of its line first, then the gesture's own lines."""
        use = uses[0]
        if len(uses) > 1:
            message = "One line uses one gesture; write the second on a line of its own at the same time."
            self.book.findings.append(rules.GESTURE.at(uses[1].span, message))
            return None
        name = self.book.look_up(use.atoms[0].text, use.atoms[0].span, ("gesture",), self.prop)
        if name is None:
            return None
        if name in [used for used, _ in self.uses]:
            self.book.findings.append(rules.GESTURE.at(use.span, f"`{name}` uses itself."))
            return None
        if len(self.uses) >= gestures.DEEPEST:
            deep = f"stand {len(self.uses) + 1} deep in one another; {gestures.DEEPEST} is the most"
            message = f"With `{name}` gestures {deep}."
            self.book.findings.append(rules.GESTURE.at(use.span, message))
            return None
        node = self.book.names[name].node
        assert isinstance(node.head, tree.GestureHead)
        if not self._has_room(node, use):
            return None
        written = gestures.write_in(node.head, node.block, use, self.book.findings)
        if written is None:
            return None
        before = len(self.book.findings)
        inner = CueReader(
            self.book, self.parts, self.prop, uses=[*self.uses, (name, use.span)], stands=written.stands, room=self.room
        )
        body = inner.cues(written.nodes)
        self.whole = self.whole and inner.whole
        label = Label(use.span, f"`{name}` is used here")
        self.book.findings[before:] = gestures.at_use(self.book.findings[before:], written.stands, label)
        first = (Cue(At(0), when_span, use.span, actions),) if actions else ()
        return Repeat((*first, *body), times=1) if body else None

    def _has_room(self, node: tree.Node, use: tree.Phrase) -> bool:
        self.room.left -= gestures.lines_in(node.block)
        if self.room.left < 0 and not self.room.said:
            self.room.said = True
            message = (f"With this use gestures write more than {gestures.MOST_LINES:,} lines into one scare, which no "
                       "board holds; use gestures in gestures more sparingly.")
            self.book.findings.append(rules.GESTURE.at(use.span, message))
        return self.room.left >= 0
