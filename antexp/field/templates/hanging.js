/* The hanging end: what hangs, when it was up and clear, when the source went into the dummy load. */
end.beforeBlock = "Source in the dummy load? Wind below the limit set beforehand, no thunder? Then begin.";
end.againLabel = "Hang a swap again";

function lastUp(rows, swap) {
  var found = standsIn(rows, swap, ["up"]);
  return found[found.length - 1] || null;
}

end.isDone = function (rows, swap) { return standsIn(rows, swap, ["down", "skip", "stop"]).length > 0; };

end.focus = function () { (byId("before-up").hidden ? byId("step") : byId("swr")).focus(); };

end.tell = function (row) {
  return { up: "up and clear: " + row.candidate + ", specimen " + row.specimen + (row.swr ? ", SWR " + row.swr : ""),
    down: "source in the dummy, lowered", remark: "remark", skip: "skipped", stop: "not done, block closed",
    again: "hang again", wrong: "a wrong wire was up: " + (row.candidate ? row.candidate + ", specimen " + row.specimen :
      "not known which"), clock: "clocks compared" }[row.what] || row.what;
};

end.checkRow = function (row) {
  return ["reading", "noise", "wanders", "enough"].indexOf(row.what) >= 0 ? "this is the reading end’s file." : "";
};

function specimens() {
  var seen = {};
  return day.swaps.filter(function (swap) {
    var key = JSON.stringify([swap.candidate, swap.specimen]);
    if (seen[key]) return false;
    seen[key] = true;
    return true;
  });
}

function firstHanging(swap) {
  return !app.book.rows.some(function (row) {
    return row.what === "up" && row.left_out_by === "" && row.block === swap.block && row.candidate === swap.candidate &&
      row.specimen === swap.specimen && row.swr !== "";
  });
}

function measured(id, lowest, highest, what) {
  var text = byId(id).value, plain;
  if (!text.trim()) return { text: "" };
  plain = plainNumber(text);
  if (plain === null || Number(plain) < lowest || Number(plain) > highest)
    return { trouble: what + " cannot be " + text + "; allowed: " + lowest + " to " + highest + "." };
  return { text: plain.replace(/^\+/, "") };
}

/* Whether a monitor of the source was read before: a record with it on some swaps alone cannot be judged. */
function monitored() {
  return app.book.rows.some(function (row) { return row.what === "up" && row.left_out_by === "" && Boolean(row.source_db); });
}

function goUp(swap, time, measures) {
  var row = baseRow(swap, "up", time);
  row.candidate = swap.candidate;
  row.specimen = swap.specimen;
  row.place = swap.place;
  row.swr = measures.swr;
  row.height_m = measures.height;
  row.source_db = measures.source;
  row.handling = byId("handling").value;
  row.handling_note = byId("handling-note").value.trim();
  byId("handling").value = byId("handling-note").value = "";
  byId("handling-box").open = false;
  row.height_mark = byId("height-mark").checked ? "1" : "";
  byId("swr").value = byId("height").value = byId("source").value = "";
  byId("height-mark").checked = false;
  act([row], null, "Swap " + swap.swap + " is up. Say: “Swap " + swap.swap + ", word " + swap.word + ", source on, clear.”");
  end.focus();
}

function step(event) {
  var swap = currentSwap(), time = now(), swr, height, source, trouble, row;
  event.preventDefault();
  if (lastUp(app.book.rows, swap.swap)) {
    row = baseRow(swap, "down", time);
    act([row], null, "Swap " + swap.swap + " is read. Lower it.");
    if (!byId("work").hidden) end.focus();
    return;
  }
  swr = measured("swr", 1, 1000, "SWR");
  height = measured("height", 0, 1000, "A height in metres");
  source = measured("source", -300, 300, "A monitor of the source in dB");
  trouble = swr.trouble || height.trouble || source.trouble;
  if (trouble) { say(trouble); end.focus(); return; }
  goOrAsk(swap, time, { swr: swr.text, height: height.text, source: source.text });
}

/* Ask first where a number is missing that nobody can measure afterwards. */
function goOrAsk(swap, time, measures) {
  var ask = !measures.swr && firstHanging(swap) ? { title: "No SWR for the first hanging in this block?",
    text: ["Without it nobody can tell mismatch from metal afterwards."] } :
    !measures.source && monitored() ? { title: "No monitor of the source this time?",
      text: ["The swaps so far have one. A record is judged only when every reading has it."] } : null;
  if (!ask) { goUp(swap, time, measures); return; }
  openPanel({
    title: ask.title, text: ask.text, noBack: true,
    actions: [{ label: "I type it now", run: function () { leavePanel(); return ""; } },
      { label: "Go on without", run: function () { goUp(swap, time, measures); return ""; } }]
  });
}

function again() {
  openPanel({
    title: "Hang a swap again", text: ["Its hanging so far is left out, and stays in the file. Tell the reading end to read it again."],
    fields: [swapField("swap", "Which swap"), reasonField("Why")],
    actions: [{ label: "Hang it again", run: function (values) {
      var swap = swapOf(values.swap), row;
      if (!swap) return "No swap of this block was hung yet.";
      if (!values.reason.trim()) return "Say why: a reason that does not speak of the level keeps the record honest.";
      row = baseRow(swap, "again");
      row.note = values.reason.trim();
      act([row], function (other) {
        return other.swap === row.swap && other.left_out_by === "" && ["up", "down", "skip", "stop", "wrong"].indexOf(other.what) >= 0;
      }, "Swap " + swap.swap + ", " + swap.word + ": hang it again.");
      return "";
    } }]
  });
}

function wrongWire() {
  var all = specimens();
  openPanel({
    title: "A wrong wire was up", text: ["Leave the readings as they are. They count for the wire that really hung; if nobody " +
      "knows which, they are left out. Tell the reading end the number and the word only."],
    fields: [swapField("swap", "In which swap"), { name: "hung", label: "What really hung", kind: "select",
      options: [["", "nobody knows"]].concat(all.map(function (swap, at) {
        return [String(at), swap.candidate + ", specimen " + swap.specimen];
      })) }, reasonField("How it came about")],
    actions: [{ label: "Write it down", run: function (values) {
      var swap = swapOf(values.swap), row, up;
      if (!swap) return "No swap of this block was hung yet.";
      up = lastUp(app.book.rows, swap.swap);
      if (!up) return "Swap " + swap.swap + " was not up.";
      row = baseRow(swap, "wrong");
      row.note = values.reason.trim() || "a wrong wire was up";
      row.place = up.place;
      if (values.hung !== "") {
        row.candidate = all[Number(values.hung)].candidate;
        row.specimen = all[Number(values.hung)].specimen;
      }
      act([row], null, "Swap " + swap.swap + ": what really hung is written down.");
      return "";
    } }]
  });
}

end.choices = function (current) {
  var recent = recentSwaps().length > 0;
  return [
    ["Skip this swap", skipSwap, Boolean(current), "s"],
    ["Hang a swap again", again, recent, ""],
    ["A wrong wire was up", wrongWire, recent, ""],
    ["Stop: close the block", stopBlock, Boolean(current), ""]
  ];
};

end.drawWork = function (swap) {
  var up = lastUp(app.book.rows, swap.swap);
  byId("swap").textContent = swap.swap;
  byId("word").textContent = swap.word;
  byId("reference").hidden = swap.role !== "reference";
  byId("hang-label").textContent = up ? "Up now:" : "Hang this:";
  byId("hang").textContent = swap.candidate + ", specimen " + swap.specimen;
  byId("place").textContent = day.several_places ? "Place " + swap.place : "";
  byId("before-up").hidden = Boolean(up);
  byId("swr-label").textContent = firstHanging(swap) ? "SWR (first hanging in this block: measure it)" : "SWR, if it was measured";
  byId("say").textContent = up ? "Being read. Wait for “source to dummy”, switch, and say “source in dummy, confirmed”." :
    "When it is up and you are clear: “Swap " + swap.swap + ", word " + swap.word + ", source on, clear.”";
  byId("step").textContent = up ? "Source is in the dummy, confirmed: lower it" : "Up and clear";
};

byId("form").addEventListener("submit", step);
start();
