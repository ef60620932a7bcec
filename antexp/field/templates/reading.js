/* The reading end: it knows swap numbers and words, no names. */
function kept(rows, swap, what) {
  return standsIn(rows, swap, what).filter(function (row) { return row.keep === "1"; });
}

function wanted(rows, swap) { return day.readings + day.more_when_wandering * standsIn(rows, swap, ["wanders"]).length; }

end.beforeBlock = "Read the noise with the source off first, if the block is new. Wait for the hanging end to call the swap.";
end.againLabel = "Read a swap again";

end.isDone = function (rows, swap) {
  return standsIn(rows, swap, ["skip", "stop", "enough", "wrong"]).length > 0 ||
    kept(rows, swap, ["reading"]).length >= wanted(rows, swap);
};

end.focus = function () { byId("level").focus(); };

end.tell = function (row) {
  return { reading: "reading " + row.reading + ": " + shownLevel(row), noise: "noise, source off: " + shownLevel(row),
    wanders: "it wanders", remark: "remark", skip: "skipped", stop: "not done, block closed", enough: "enough readings",
    again: "read again", wrong: "a wrong wire was up", clock: "clocks compared" }[row.what] || row.what;
};

end.checkRow = function (row) {
  var filled;
  if (["up", "down"].indexOf(row.what) >= 0) return "this is the hanging end’s file.";
  if (row.what !== "reading" && row.what !== "noise") return "";
  filled = row.level_s ? parseS(row.level_s) : isFinite(rowDb(row)) && (row.level_db !== "" ||
    (row.level_low_db !== "" && row.level_high_db !== ""));
  return filled ? "" : "the level is not a level.";
};

function levelRow(swap, what, time, fields) {
  var row = baseRow(swap, what, time), numbers = app.book.rows.filter(function (other) {
    return other.swap === String(swap.swap) && other.reading !== "";
  }).map(function (other) { return Number(other.reading); });
  row.reading = String(Math.max.apply(null, [0].concat(numbers)) + 1);
  if (what === "noise") row.role = "off";
  return Object.assign(row, fields);
}

function fieldsOf(parsed) { return day.scale === "S units" ? { level_s: parsed.text } : { level_db: parsed.text }; }

function commit(swap, time, fields) {
  var row = levelRow(swap, "reading", time, fields), finished;
  byId("level").value = "";
  act([row], null, "");
  finished = end.isDone(app.book.rows, swap.swap);
  say("Reading " + shownLevel(row) + " taken." + (finished ? " Swap " + swap.swap + " is done. Say: “Last reading " +
    shownLevel(row) + ", source to dummy.”" : ""));
  end.focus();
}

/* Take a level that was typed at `time`; ask first where it looks like a slip. */
function take(swap, time, fields, db) {
  var rows = app.book.rows, own = kept(rows, swap.swap, ["reading"]);
  var all = rows.filter(function (row) { return row.what === "reading" && row.keep === "1"; });
  var question = oddQuestion(db, own, all, day.odd_db, day.slip_db);
  if (!question) { commit(swap, time, fields); return; }
  openPanel({
    title: "Is " + shownLevel(Object.assign({ level_s: "", level_db: "" }, fields)) + " right?", text: [question], noBack: true,
    actions: [{ label: "Yes, that is what it shows", run: function () { commit(swap, time, fields); return ""; } },
      { label: "No, type it again", run: function () { leavePanel(); byId("level").select(); return ""; } }]
  });
}

function takeTyped(event) {
  var parsed = parseLevel(byId("level").value, day.scale), time = now();
  event.preventDefault();
  if (parsed.trouble) { say(parsed.trouble); byId("level").setAttribute("aria-invalid", "true"); end.focus(); return; }
  byId("level").removeAttribute("aria-invalid");
  take(currentSwap(), time, fieldsOf(parsed), parsed.db);
}

function askRange() {
  var swap = currentSwap();
  openPanel({
    title: "A range: swap " + swap.swap, text: ["The level lies somewhere between two values, and the meter shows no finer. " +
      "If it moves up and down, use “It wanders” instead."],
    fields: [{ name: "one", label: "From, " + day.unit + (day.scale === "dBm" ? " (minus is put before it)" : ""), mode: "decimal" },
      { name: "other", label: "To", mode: "decimal" }],
    actions: [{ label: "Take this range", run: function (values) {
      var time = now(), one = parseLevel(values.one, day.scale), other = parseLevel(values.other, day.scale), low, high;
      if (one.trouble || other.trouble) return one.trouble || other.trouble;
      if (one.db === other.db) return "Both ends are the same: that is an ordinary reading.";
      low = one.db < other.db ? one : other;
      high = low === one ? other : one;
      closePanel();
      take(swap, time, { level_low_db: low.text, level_high_db: high.text }, (low.db + high.db) / 2);
      return "";
    } }]
  });
}

function noise() {
  var swap = presentSwap();
  openPanel({
    title: "Noise, with the source off", text: ["Only when the hanging end has said that the source is off or in the dummy load."],
    fields: [{ name: "level", label: "Level, " + day.unit + (day.scale === "dBm" ? " (minus is put before it)" : ""), mode: "decimal" }],
    actions: [{ label: "Take it as noise", run: function (values) {
      var parsed = parseLevel(values.level, day.scale);
      if (parsed.trouble) return parsed.trouble;
      act([levelRow(swap, "noise", now(), fieldsOf(parsed))], null, "Noise " + parsed.text.replace("-", "\u2212") + " taken.");
      return "";
    } }]
  });
}

function wanders() {
  var swap = currentSwap();
  act([baseRow(swap, "wanders")], null, "It wanders: " + day.more_when_wandering + " more readings of swap " + swap.swap + ".");
  end.focus();
}

function enough() {
  var swap = currentSwap();
  act([baseRow(swap, "enough")], null, "Swap " + swap.swap + " ends with " +
    kept(app.book.rows, swap.swap, ["reading"]).length + " readings.");
}

function again() {
  openPanel({
    title: "Read a swap again", text: ["Its readings so far are left out, and stay in the file. Decide it for a reason other " +
      "than their value."],
    fields: [swapField("swap", "Which swap"), reasonField("Why")],
    actions: [{ label: "Read it again", run: function (values) {
      var swap = swapOf(values.swap), row;
      if (!swap) return "No swap of this block was read yet.";
      if (!values.reason.trim()) return "Say why: a reason that does not speak of the level keeps the record honest.";
      row = baseRow(swap, "again");
      row.note = values.reason.trim();
      act([row], function (other) {
        return other.swap === row.swap && other.left_out_by === "" &&
          ["reading", "wanders", "enough", "skip", "stop", "wrong"].indexOf(other.what) >= 0;
      }, "Swap " + swap.swap + ", " + swap.word + ": read it again.");
      return "";
    } }]
  });
}

function wrongWire() {
  openPanel({
    title: "A wrong wire was up", text: ["Readings of that swap are left out here. The hanging end writes what really hung; " +
      "when the two files are joined, they count for that wire."],
    fields: [swapField("swap", "In which swap"), reasonField("What was said about it (no names)")],
    actions: [{ label: "Write it down", run: function (values) {
      var swap = swapOf(values.swap), row;
      if (!swap) return "No swap of this block was read yet.";
      row = baseRow(swap, "wrong");
      row.note = values.reason.trim() || "a wrong wire was up";
      act([row], function (other) {
        return other.swap === row.swap && other.left_out_by === "" && other.what === "reading";
      }, "Swap " + swap.swap + ": a wrong wire was up. Written down.");
      return "";
    } }]
  });
}

function nameReceiver() {
  openPanel({
    title: "Which receiver", text: ["Only needed when several receivers take part. It stands on every row of this device."],
    fields: [{ name: "receiver", label: "Its name", value: app.receiver, longest: 60 }],
    actions: [{ label: "Set", run: function (values) {
      app.receiver = values.receiver.trim();
      closePanel(); store(); draw();
      say("Receiver: " + (app.receiver || "not named") + ".");
      return "";
    } }]
  });
}

end.choices = function (current) {
  var rows = app.book.rows, some = current && kept(rows, current.swap, ["reading"]).length > 0, recent = recentSwaps().length > 0;
  return [
    ["Noise, source off", noise, true, "n"],
    ["Skip this swap", skipSwap, Boolean(current), "s"],
    ["Enough: next swap", enough, Boolean(some), ""],
    ["Read a swap again", again, recent, ""],
    ["A wrong wire was up", wrongWire, recent, ""],
    ["Stop: close the block", stopBlock, Boolean(current), ""],
    ["Name the receiver", nameReceiver, true, ""]
  ];
};

end.drawWork = function (swap) {
  var rows = app.book.rows, own = kept(rows, swap.swap, ["reading"]), need = wanted(rows, swap.swap), list = byId("taken"), i;
  byId("swap").textContent = swap.swap;
  byId("word").textContent = swap.word;
  byId("say").textContent = (swap.candidate ? "Up now: " + swap.candidate + ". " : "") +
    "Only if you heard this number and this word: “Swap " + swap.swap + ", word " + swap.word + ", reading.”";
  byId("level-label").textContent = "Reading " + (own.length + 1) + " of " + need + ", " + day.unit;
  list.textContent = "";
  for (i = 0; i < need; i += 1)
    list.appendChild(element("li", i < own.length ? shownLevel(own[i]) : "–", i < own.length ? {} : { "class": "open" }));
  byId("range").hidden = day.scale === "S units";
};

function setUpKeys() {
  var keys = day.scale === "S units" ? ["1", "2", "3", "4", "5", "6", "7", "8", "9", "+", "0", "⌫"] :
    ["1", "2", "3", "4", "5", "6", "7", "8", "9", day.decimal, "0", "⌫"];
  keys.forEach(function (key) {
    var name = key === "⌫" ? "delete the last" : key === "." ? "decimal point" : key === "," ? "decimal comma" : key;
    var button = element("button", key, { type: "button", "aria-label": name, "data-key": key });
    button.addEventListener("click", function () {
      var box = byId("level");
      box.value = key === "⌫" ? box.value.slice(0, -1) : box.value + key;
    });
    byId("keys").appendChild(button);
  });
}

day.decimal = (1.5).toLocaleString().indexOf(",") >= 0 ? "," : ".";
byId("sign").textContent = day.scale === "dBm" ? "\u2212" : day.scale === "S units" ? "S" : "";
byId("unit").textContent = day.unit;
byId("hint").textContent = day.hint;
setUpKeys();
byId("form").addEventListener("submit", takeTyped);
byId("wanders").addEventListener("click", wanders);
byId("range").addEventListener("click", askRange);
start();
