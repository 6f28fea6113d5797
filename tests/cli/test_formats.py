from __future__ import annotations

import json
from pathlib import Path

import pytest

from sequencer.cli.formats import as_json, findings_github, findings_json
from sequencer.cli.sarif import sarif_value, uri_of
from sequencer.findings import Edit, Finding, Label, Mend, Rule, Severity, Span

PLACE = Span("night of fog/yard.show", 3, 5, 3, 11)
OTHER = Span("rig.show", 1, 1, 2, 4)
RULE = Rule("C003", "lands too early", "A motion takes time.", "fails\n", "mended\n", source="the air model")
FINDINGS = (
    RULE.at(
        PLACE,
        "50 % of the rams,\nsays: late.",
        labels=[Label(OTHER, "this ram")],
        mends=[Mend("write 1.35 s", (Edit(PLACE, "1.35 s"), Edit(OTHER, "")), safe=True), Mend("think", ())],
    ),
    Finding("C009", Severity.NOTE, Span("a:b,c.show", 1, 1, 2, 1), "幽霊"),
)
DOCUMENT = Path(__file__).parents[2] / "sequencer" / "cli" / "JSON.md"


def keys_of(value: object) -> set[str]:
    if isinstance(value, dict):
        return set(value) | {key for item in value.values() for key in keys_of(item)}
    if isinstance(value, list):
        return {key for item in value for key in keys_of(item)}
    return set()


def test_the_json_says_all_that_the_findings_hold() -> None:
    value = json.loads(findings_json(FINDINGS))
    first = value["findings"][0]
    assert value["version"] == 1
    assert value["summary"] == {"errors": 1, "warnings": 0, "notes": 1}
    assert (first["code"], first["severity"], first["file"]) == ("C003", "error", PLACE.file)
    assert first["span"] == {"line": 3, "column": 5, "end_line": 3, "end_column": 11}
    place = {"line": 1, "column": 1, "end_line": 2, "end_column": 4}
    assert first["labels"] == [{"file": "rig.show", "span": place, "text": "this ram"}]
    assert [edit["text"] for edit in first["mends"][0]["edits"]] == ["1.35 s", ""]
    assert [mend["safe"] for mend in first["mends"]] == [True, False]
    assert value["findings"][1]["message"] == "幽霊"


def test_every_key_of_the_json_is_described() -> None:
    text = DOCUMENT.read_text(encoding="utf-8")
    assert {key for key in keys_of(json.loads(findings_json(FINDINGS))) if f"`{key}`" not in text} == set()


def test_json_is_ascii_so_that_every_stream_takes_it() -> None:
    assert findings_json(FINDINGS).isascii()
    assert as_json({"a": "幽霊\ud800"}).isascii()


def test_workflow_commands_escape_what_the_runner_would_take_for_its_own() -> None:
    # GitHub, "Workflow commands for GitHub Actions": ::error file={name},line={line}::{message};
    # its toolkit escapes % CR LF in the message, and : and , too in the properties.
    first, second = findings_github(FINDINGS).split("\n")
    head, message = first[2:].split("::", 1)
    assert head == "error file=night of fog/yard.show,line=3,col=5,endLine=3,endColumn=10,title=C003 error"
    assert message == "50 %25 of the rams,%0Asays: late.%0Amend: write 1.35 s%0Amend: think"
    assert second.startswith("::notice file=a%3Ab%2Cc.show,line=1,col=1,endLine=2,title=")


def test_the_sarif_log_fits_the_schema_of_the_standard() -> None:
    # pydantic-sarif: models generated from the OASIS schema sarif-schema-2.1.0.json, unknown keys forbidden.
    model = pytest.importorskip("pydantic_sarif.model")
    log = model.StaticAnalysisResultsFormatSarifVersion210JsonSchema
    value = sarif_value(FINDINGS, {"C003": RULE})
    assert log.model_validate(value).runs[0].results[0].ruleId == "C003"
    value["runs"][0]["results"][0]["levle"] = "error"
    with pytest.raises(ValueError, match="levle"):
        log.model_validate(value)


def test_the_sarif_log_keeps_the_rules_of_the_standard_that_no_schema_says() -> None:
    log = sarif_value(FINDINGS, {"C003": RULE})
    run = log["runs"][0]
    rules = run["tool"]["driver"]["rules"]
    for result in run["results"]:
        # 3.27.6: ruleIndex is the index of the rule whose id is ruleId.
        assert rules[result["ruleIndex"]]["id"] == result["ruleId"]
        # 3.27.10: none, note, warning or error.
        assert result["level"] in ("note", "warning", "error")
    # 3.14.17: columns are counted in code points, as spans are.
    assert run["columnKind"] == "unicodeCodePoints"
    region = run["results"][0]["locations"][0]["physicalLocation"]["region"]
    # 3.30.8: the end column is one more than that of the last character.
    assert region == {"startLine": 3, "startColumn": 5, "endLine": 3, "endColumn": 11}
    # 3.55.3 and 3.56.3: a fix holds at least one change, a change at least one replacement.
    (fix,) = run["results"][0]["fixes"]
    changes = {c["artifactLocation"]["uri"]: c["replacements"] for c in fix["artifactChanges"]}
    assert changes["night%20of%20fog/yard.show"][0]["insertedContent"] == {"text": "1.35 s"}
    assert changes["rig.show"][0]["deletedRegion"]["endLine"] == 2
    # 3.49.13: the help of a rule, in text and in Markdown.
    assert "air model" in rules[0]["help"]["text"]
    assert "fails" in rules[0]["help"]["markdown"]


def test_a_path_is_a_uri_reference() -> None:
    # RFC 3986: a space is %20; 4.2: a relative reference has no colon in its first part.
    assert uri_of("night of fog/yard.show") == "night%20of%20fog/yard.show"
    assert uri_of("a:b.show") == "a%3Ab.show"
    assert uri_of("/yard/a.show") == "file:///yard/a.show"
