"""The HTML in a real browser without a screen: a tag is searched and reached by keys alone, and nothing is
asked for.

A copy of the page gets a second script that presses the keys and writes down what it sees; its hash is
let through.
"""

from __future__ import annotations

import html
import json
import re
import shutil
import subprocess
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from model.papers.html_writer import papers_html, script_hash
from model.papers.page_script import SCRIPT
from model.papers.shelf import PAPERS
from model.tracing.find import FoundKind, find
from tests.model.papers.looms import planned

BROWSER = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
pytestmark = pytest.mark.skipif(BROWSER is None, reason="no chromium here: the page can't be opened")

FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--virtual-time-budget=20000",
]
NOWHERE = "--host-resolver-rules=MAP * ~NOTFOUND"
"""No name leads anywhere: what the browser asks for on its own account stays here too."""

PRESS = """
(function () {
  var seen = [], field = document.getElementById("q"), head = document.querySelector("header");
  var hits = document.getElementById("hits");
  function key(name, target) {
    var event = new KeyboardEvent("keydown", { key: name, bubbles: true, cancelable: true });
    (target || document.activeElement).dispatchEvent(event);
  }
  function type(words) { field.value = words; field.dispatchEvent(new Event("input", { bubbles: true })); }
  function shown() {
    return Array.prototype.filter.call(document.querySelectorAll("article.wire"), function (wire) {
      return wire.offsetParent !== null; }).map(function (wire) { return wire.id; });
  }
  function where() {
    var wire = document.activeElement.closest("article.wire"), box = wire && wire.getBoundingClientRect();
    return { focus: wire && wire.id, hash: location.hash,
      seen: !!box && box.top >= head.offsetHeight - 1 && box.top < window.innerHeight };
  }
  var WORDS = __WORDS__;
  window.addEventListener("load", function () {
    key("/", document.body);
    seen.push({ did: "slash", field: document.activeElement === field });
    var next = 0;
    (function again() {
      if (next === WORDS.length) {
        var asked = performance.getEntriesByType("resource");
        seen.push({ did: "asked", of: asked.map(function (entry) { return entry.name; }) });
        seen.push({ did: "wide", page: document.documentElement.scrollWidth, window: window.innerWidth });
        var out = document.createElement("pre");
        out.id = "seen"; out.textContent = JSON.stringify(seen); document.body.appendChild(out);
        return;
      }
      var words = WORDS[next++];
      field.focus(); type(words);
      var few = shown();
      key("Enter", field);
      setTimeout(function () {
        seen.push({ did: words, few: few, hits: hits.textContent, where: where() });
        key("Escape", field);
        seen.push({ did: "escape", few: shown().length, field: field.value });
        again();
      }, 60);
    })();
  });
})();
"""


def browse(folder: Path, address: str, log: Path | None = None) -> str:
    """The page as it stands after its scripts; `log` gets the browser's own record of the network."""
    assert BROWSER is not None
    more = [f"--log-net-log={log}"] if log is not None else []
    command = [
        BROWSER, *FLAGS, NOWHERE, *more, f"--user-data-dir={folder / 'profile'}",
        "--window-size=500,900", "--dump-dom", address,
    ]  # fmt: skip
    return subprocess.run(command, capture_output=True, text=True, timeout=90, check=True).stdout


def asked_for(log: Path) -> set[str]:
    """The addresses a page asked for, from the browser's record. What the browser asked for itself has
    no origin.
    """
    text = log.read_text(encoding="utf-8", errors="replace")
    assert "constants" in text
    found = set()
    for line in text.splitlines():
        who, what = re.search(r'"initiator":"([^"]*)"', line), re.search(r'"url":"([^"]*)"', line)
        if who and what and who.group(1) != "not an origin":
            found.add(what.group(1))
    return found


def opened(folder: Path, words: list[str]) -> tuple[dict[str, Any], list[dict[str, Any]], set[str]]:
    """What was seen by what was typed, the same in order, and what the page asked for."""
    page = papers_html(PAPERS, planned("gritter"), day="2026-03-03")
    assert page is not None
    press = PRESS.replace("__WORDS__", json.dumps(words))
    mine = f"'{script_hash(SCRIPT)}'"
    copy = page.replace(mine, f"{mine} '{script_hash(press)}'").replace(
        "</body>", f"<script>{press}</script></body>"
    )
    path = folder / "papers.html"
    path.write_text(copy, encoding="utf-8")
    log = folder / "net.json"
    dom = browse(folder, path.as_uri(), log)
    found = re.search(r'<pre id="seen">(.*?)</pre>', dom, re.DOTALL)
    assert found
    seen = json.loads(html.unescape(found.group(1)))
    return {step["did"]: step for step in seen}, seen, asked_for(log)


def test_a_scanned_tag_is_searched_and_reached_by_keys_and_nothing_leaves_the_file(tmp_path: Path) -> None:
    harness = planned("gritter")
    tags = [record.tag for record in harness.ledger if record.live]
    middle, last = tags[len(tags) // 2], tags[-1]
    smudged = f"?{last[1:]}"
    by_typed, seen, asked = opened(
        tmp_path, [f"GRT-{middle}-C", last.lower(), smudged, "beacon", "no such thing"]
    )
    assert by_typed["slash"]["field"]
    for typed, tag in ((f"GRT-{middle}-C", middle), (last.lower(), last), (smudged, last)):
        step = by_typed[typed]
        assert step["few"] == [tag], step
        assert step["where"] == {"focus": tag, "hash": f"#{tag}", "seen": True}
        assert step["hits"].startswith("1 wire" if typed != smudged else f"{smudged} is read as {last}")
    beacons = set(by_typed["beacon"]["few"])
    assert 1 < len(beacons) < len(tags)
    assert by_typed["beacon"]["where"]["focus"] in beacons
    assert by_typed["no such thing"]["few"] == []
    assert "No wire" in by_typed["no such thing"]["hits"]
    assert all(step["few"] == len(list(harness.ledger)) for step in seen if step["did"] == "escape")
    assert by_typed["asked"]["of"] == []
    assert by_typed["wide"]["page"] <= by_typed["wide"]["window"]
    assert asked == set()


def misread(tags: Sequence[str]) -> list[str]:
    """Texts that a person may type for tags: every slip there is, of tags all over the ledger."""
    some = tags[::9]
    return [
        *(f"?{tag[1:]}" for tag in some),
        *(f"{tag[0]}?{tag[2]}" for tag in some),
        *(f"{tag[:2]}{wrong}" for tag, wrong in zip(some, "OI1S8ZBGUVWXY23", strict=False)),
        *(tag[::-1] for tag in some),
        *(tag[1] + tag[0] + tag[2] for tag in some),
        *(tag[:2] + "X" + tag[2] for tag in some),
        *(tag[:2] for tag in some if tag[:2].isalnum() and tag[0].isalpha()),
        *("K7I", "0?7", "7LK", "K7", "??L", "ZZZ"),
    ]


def test_a_tag_that_is_read_badly_is_what_the_program_says(tmp_path: Path) -> None:
    harness = planned("gritter")
    tags = [record.tag for record in harness.ledger if record.live]
    known = set(tags)
    words = [one for one in dict.fromkeys(misread(tags)) if one not in known]
    by_typed, _, _ = opened(tmp_path, words)
    kinds = Counter[str]()
    for typed in words:
        step, seen = by_typed[typed], find(harness, typed)
        if len(typed) == 2 and step["few"] and "is no tag" not in step["hits"]:
            continue  # two signs are part of a word or a tag
        kinds[seen.kind] += 1
        if seen.kind is FoundKind.WIRE:
            assert step["few"] == [seen.tag], typed
            assert f"{typed} is read as {seen.tag}" in step["hits"]
        elif seen.kind is FoundKind.CANDIDATES:
            likely = ", ".join(one.answer.tag for one in seen.candidates)
            assert f"{typed} is no tag here. It may be {likely}." in step["hits"]
            assert step["where"]["focus"] == seen.candidates[0].answer.tag
        else:
            assert step["few"] == [], typed
            assert step["hits"] == "No wire is called that."
    assert kinds[FoundKind.WIRE] > 15
    assert kinds[FoundKind.CANDIDATES] > 15
    assert "K7L" in by_typed["7LK"]["hits"]


def test_several_tags_and_names(tmp_path: Path) -> None:
    harness = planned("gritter")
    names = [lamp.name for lamp in harness.lamps]
    asked = [*names, "roof marker", "marker roof", "L8K 5CM", "k7i, l8k", "GRT-K7I-C", "ABC-K7L-C", "grt k7l"]
    by_typed, _, _ = opened(tmp_path, asked)
    for words in (*names, "roof marker", "marker roof"):
        meant = {answer.tag for answer in find(harness, words).answers}
        assert set(by_typed[words]["few"]) == meant, words
        assert by_typed[words]["hits"].startswith(f"{len(meant)} wire" if meant else "No wire")
    assert set(by_typed["L8K 5CM"]["few"]) == {"L8K", "5CM"}
    assert set(by_typed["k7i, l8k"]["few"]) == {"K7L", "L8K"}
    assert by_typed["k7i, l8k"]["hits"] == "L8K. K7I is read as K7L. Enter goes to the first."
    assert by_typed["GRT-K7I-C"]["few"] == by_typed["grt k7l"]["few"] == ["K7L"]
    assert by_typed["ABC-K7L-C"]["few"] == []
    assert "project ABC" in by_typed["ABC-K7L-C"]["hits"]


def test_a_page_that_asks_for_something_is_noticed(tmp_path: Path) -> None:
    path = tmp_path / "asks.html"
    path.write_text('<img src="http://example.invalid/a.png">', encoding="utf-8")
    browse(tmp_path, path.as_uri(), tmp_path / "net.json")
    assert asked_for(tmp_path / "net.json") == {"http://example.invalid/a.png"}


REPORT = """
window.addEventListener("load", function () { setTimeout(function () {
  var head = document.querySelector("header").offsetHeight;
  var out = document.createElement("pre");
  out.id = "seen";
  out.textContent = document.querySelector(".here").getBoundingClientRect().top - head;
  document.body.appendChild(out);
}, 300); });
"""


def test_a_scanned_address_leads_to_its_wire_at_once(tmp_path: Path) -> None:
    harness = planned("gritter")
    page = papers_html(PAPERS, harness)
    assert page is not None
    mine = f"'{script_hash(SCRIPT)}'"
    page = page.replace(mine, f"{mine} '{script_hash(REPORT)}'").replace(
        "</body>", f"<script>{REPORT}</script></body>"
    )
    tag = [record.tag for record in harness.ledger if record.live][40]
    path = tmp_path / "papers.html"
    path.write_text(page, encoding="utf-8")
    dom = browse(tmp_path, f"{path.as_uri()}#GRT-{tag}-L")
    assert f'<article class="wire here" id="{tag}"' in dom
    below_head = re.search(r'<pre id="seen">([-\d.]+)</pre>', dom)
    assert below_head
    assert 0 <= float(below_head.group(1)) < 20
