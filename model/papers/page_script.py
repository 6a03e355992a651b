"""The script of the page for a phone: it searches what is in the page, and asks nothing of anybody.

A tag may be read badly; what it can have been is told as the program itself tells it (model.tracing.reading),
from the same tables. Words are looked for as they stand, all of them in one name.
"""

from __future__ import annotations

import json
from itertools import combinations

from model.tags import ALPHABET, FOLDED, distance
from model.tracing.find import CANDIDATES_MAX
from model.tracing.reading import (
    DIGITS,
    FOLD_COST,
    FOLDED_DIGITS,
    LENGTH_COST,
    MORE_THAN_ONE,
    READ_TURNED,
    SWAP_COST,
    TURNED_COST,
)

TABLES = json.dumps(
    {
        "code": {"signs": ALPHABET, "folded": dict(FOLDED)},
        "number": {"signs": DIGITS, "folded": dict(FOLDED_DIGITS)},
        "turned": dict(READ_TURNED),
        "alike": [a + b for a, b in combinations(ALPHABET, 2) if distance(a, b) < 1],
        "cost": {
            "folded": FOLD_COST,
            "turned": TURNED_COST,
            "swapped": SWAP_COST,
            "length": LENGTH_COST,
            "more": MORE_THAN_ONE,
        },
        "most": CANDIDATES_MAX,
    },
    sort_keys=True,
    separators=(",", ":"),
)
"""What the reading of tags goes by: signs, look-alikes, what turns into what, how unlikely each slip is."""

READING = """
  function options(sign) {
    return scheme.signs.indexOf(sign) >= 0 ? sign : scheme.folded[sign] || "";
  }
  function apart(one, other) {
    return one === other ? 0 : T.alike.indexOf(one + other) + T.alike.indexOf(other + one) > -2 ? 0.5 : 1;
  }
  function compared(seen, tag) {
    // How many signs are wrong and how unlikely that is; null for another length.
    if (seen.length !== tag.length) { return null; }
    var wrong = 0, costs = [];
    for (var i = 0; i < tag.length; i++) {
      var can = options(seen[i]);
      if (can && can.indexOf(tag[i]) < 0) {
        wrong++;
        costs.push(Math.min.apply(null, can.split("").map(function (one) { return apart(one, tag[i]); })));
      } else if (seen[i] !== tag[i]) { costs.push(T.cost.folded); }
    }
    var sum = costs.reduce(function (all, one) { return all + one; }, 0);
    return { wrong: wrong, cost: sum + T.cost.more * Math.max(costs.length - 1, 0) };
  }
  function without(text, place) { return text.slice(0, place) + text.slice(place + 1); }
  function oneSlip(seen, tag) {
    // The cost of the likeliest single slip that makes `tag` look like `seen`, or null.
    var best = null, i, j;
    function can(cost) { if (best === null || cost < best) { best = cost; } }
    var over = seen.split("").reverse().map(function (sign) { return T.turned[sign] || "-"; }).join("");
    if (over === tag && over !== seen) { can(T.cost.turned); }
    var same = compared(seen, tag);
    if (same && same.wrong === 1) { can(same.cost); }
    for (i = 0; i < seen.length; i++) {
      if (without(seen, i) === tag) { can(T.cost.length); }
      for (j = i + 1; j < seen.length; j++) {
        if (seen.slice(0, i) + seen[j] + seen.slice(i + 1, j) + seen[i] + seen.slice(j + 1) === tag) {
          can(T.cost.swapped);
        }
      }
    }
    for (i = 0; i < tag.length; i++) { if (without(tag, i) === seen) { can(T.cost.length); } }
    return best;
  }
  function readings(seen) {
    // Tags that `seen` can be: { sure } where there is one way to read it, else { may }, likeliest first.
    var legible = seen.split("").filter(options).length;
    var fits = legible ? tags.filter(function (tag) {
      var same = compared(seen, tag);
      return same && same.wrong === 0;
    }) : [];
    if (fits.length === 1) { return { sure: fits[0], may: [] }; }
    var costs = {};
    function near(cost) {
      return tags.filter(function (tag) {
        var value = cost(tag);
        if (value !== null) { costs[tag] = value; }
        return value !== null;
      });
    }
    if (fits.length) {
      fits.forEach(function (tag) { costs[tag] = T.cost.folded; });
    } else if (seen.length >= 2 && seen.length <= 5) {
      var blank = seen.length - legible;
      if (blank < 3) { fits = near(function (tag) { return oneSlip(seen, tag); }); }
      if (!fits.length && blank < 2) {
        fits = near(function (tag) {
          var same = compared(seen, tag);
          return same && same.wrong === 2 ? same.cost : null;
        });
      }
    }
    fits.sort(function (one, other) {
      return costs[one] - costs[other] || retired[one] - retired[other] || (one < other ? -1 : 1);
    });
    return { sure: "", may: fits.slice(0, T.most) };
  }
"""

SEARCHING = r"""
  function asked() {
    return field.value.trim().toUpperCase().replace(/\s+/g, " ").replace(/[\u2010-\u2014_\/]/g, "-");
  }
  function exactly(words) {
    // The article of a tag or of a label's code, however it is spaced.
    var close = words.replace(/[ -]/g, "");
    var ways = [words, words.replace(/ /g, ""), words.replace(/ - /g, "-").replace(/ /g, "-"), close];
    if (close.indexOf(code) === 0) { ways.push(close.slice(code.length)); }
    for (var i = 0; i < ways.length; i++) {
      var there = ways[i] && document.getElementById(ways[i]);
      var wire = there && there.closest("article.wire");
      if (wire) { return wire; }
    }
    return null;
  }
  function called(words) {
    // The wires one of whose names holds every word; a number is a whole word.
    var parts = words.split(" ");
    return wires.filter(function (wire) {
      return wire.dataset.find.split("|").some(function (name) {
        return parts.every(function (part) {
          return /^\d+$/.test(part) ? name.split(/[^A-Z0-9]+/).indexOf(part) >= 0 : name.indexOf(part) >= 0;
        });
      });
    });
  }
  function articles(names) { return names.map(function (tag) { return document.getElementById(tag); }); }
  function answer(seen) {
    // What one badly read tag can be, and in words.
    var read = readings(seen);
    if (read.sure) { return { few: articles([read.sure]), say: seen + " is read as " + read.sure }; }
    if (!read.may.length) { return null; }
    return { few: articles(read.may), say: seen + " is no tag here. It may be " + read.may.join(", ") };
  }
  function several(words) {
    // A bundle in the hand: tags one after the other, each as it stands or as it may have been.
    var parts = words.split(/[\s,;+&-]+/).filter(Boolean), few = [], said = [], sure = [];
    if (parts.length < 2 || !parts.every(function (part) { return /^[A-Z0-9?]{3,4}$/.test(part); })) {
      return null;
    }
    for (var i = 0; i < parts.length; i++) {
      var own = document.getElementById(parts[i]);
      var one = own && own.matches("article.wire") ? { few: [own] } : answer(parts[i]);
      if (!one) { return null; }
      if (one.say) { said.push(one.say); } else { sure.push(parts[i]); }
      few = few.concat(one.few.filter(function (wire) { return few.indexOf(wire) < 0; }));
    }
    return { few: few, say: (sure.length ? [sure.join(", ")] : []).concat(said).join(". ") };
  }
  function found() {
    var words = asked();
    if (!words) { return { few: wires, say: "" }; }
    var own = exactly(words);
    if (own) { return counted([own]); }
    var label = /^(?:([A-Z0-9]{2,3})-)?([A-Z0-9?]{3,4})(?:-([LC]))?$/.exec(words);
    if (label && label[1] && label[1] !== code && tags.indexOf(label[1]) < 0) {
      return { few: [], say: label[2] + " is a tag of project " + label[1] + "; these are the papers of " +
        code + "." };
    }
    var illegible = words.indexOf("?") >= 0;
    var plain = illegible ? [] : called(words);
    if (plain.length) { return counted(plain); }
    var seen = label ? label[2] : words.replace(/[ -]/g, "");
    var guessed = several(words) || (/^[A-Z0-9?]{2,5}$/.test(seen) ? answer(seen) : null);
    if (!guessed) { return { few: [], say: "No wire is called that." }; }
    return { few: guessed.few, say: guessed.say + ". " + enter(guessed.few) };
  }
  function enter(few) { return few.length === 1 ? "Enter goes to it." : "Enter goes to the first."; }
  function counted(few) {
    return { few: few, say: few.length + (few.length === 1 ? " wire. " : " wires. ") + enter(few) };
  }
  function show() {
    var now = found();
    wires.forEach(function (wire) { wire.hidden = now.few.indexOf(wire) < 0; });
    hits.textContent = now.say;
  }
"""

SCRIPT = (
    """
(function () {
  "use strict";
  var field = document.getElementById("q"), hits = document.getElementById("hits");
  var T = __TABLES__;
  var scheme = T[field.dataset.scheme], code = field.dataset.code;
  var wires = Array.prototype.slice.call(document.querySelectorAll("article.wire"));
  var tags = [], retired = {};
  wires.forEach(function (wire) {
    tags.push(wire.id);
    retired[wire.id] = wire.classList.contains("retired") ? 1 : 0;
  });
"""
    + READING
    + SEARCHING
    + """
  function go(wire) {
    wire.hidden = false;
    if (location.hash === "#" + wire.id) { wire.scrollIntoView(); } else { location.hash = wire.id; }
    wire.focus({ preventScroll: true });
  }
  function arrive() {
    wires.forEach(function (wire) { wire.classList.remove("here"); });
    var there = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    var wire = there && there.closest("article.wire");
    if (wire) { wire.hidden = false; wire.classList.add("here"); wire.scrollIntoView(); }
  }
  function fit() {
    // What is gone to has to come out below the head, whose height is that of the phone's own letters.
    var head = document.querySelector("header");
    document.documentElement.style.scrollPaddingTop = head.offsetHeight + 4 + "px";
  }
  window.addEventListener("resize", fit);
  fit();
  field.addEventListener("input", show);
  field.addEventListener("keydown", function (event) {
    if (event.key === "Enter") {
      var few = found().few;
      if (few.length && asked()) { go(few[0]); }
    } else if (event.key === "Escape") { field.value = ""; show(); }
  });
  document.addEventListener("keydown", function (event) {
    if (event.key === "/" && document.activeElement !== field) {
      event.preventDefault();
      field.focus();
      field.select();
    }
  });
  window.addEventListener("hashchange", arrive);
  arrive();
})();
"""
).replace("__TABLES__", TABLES)
