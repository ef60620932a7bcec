/* Levels as people type them: decimal comma or point, a fixed minus on dBm, S units as S7 or S9+10. */
function plainNumber(text) {
  var plain = text.trim().replace(/\u2212/g, "-").replace(",", ".").replace(/\s+/g, "");
  if (!NUMBER.test(plain)) return null;
  plain = plain.replace(/\.$/, "").replace(/^([+-]?)\./, "$10.");
  return plain.replace(/^([+-]?)0+(?=\d)/, "$1");
}

function parseS(text) {
  var found = /^s?([0-9])(?:\+([0-9]{1,2})(?:db)?)?$/i.exec(text.replace(/\s+/g, ""));
  if (!found || (found[2] && found[1] !== "9") || Number(found[2] || 0) > 60) return null;
  return { text: "S" + found[1] + (Number(found[2] || 0) ? "+" + Number(found[2]) : ""),
    db: (Number(found[1]) - 9) * 6 + Number(found[2] || 0) };
}

/* Return {text, db}, or {trouble} when it cannot be a level. */
function parseLevel(text, scale) {
  var s, plain;
  if (!text.trim()) return { trouble: "Nothing was typed." };
  if (scale === "S units") {
    s = parseS(text);
    return s || { trouble: "Not an S reading: " + text + ". Allowed: S0 to S9, S9+10 and the like." };
  }
  plain = plainNumber(text);
  if (plain === null) return { trouble: "Not a number: " + text + ". Digits and one decimal comma or point." };
  if (Math.abs(Number(plain)) > 300) return { trouble: text + " dB is not possible. Was the decimal point left out?" };
  if (scale === "dBm" && plain[0] !== "-" && plain[0] !== "+" && Number(plain) !== 0) plain = "-" + plain;
  plain = plain.replace(/^\+/, "");
  return { text: plain, db: Number(plain) };
}

function median(values) {
  var sorted = values.slice().sort(function (a, b) { return a - b; }), middle = Math.floor(sorted.length / 2);
  return sorted.length % 2 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
}

function rowDb(row) {
  var s;
  if (row.level_s) { s = parseS(row.level_s); return s ? s.db : NaN; }
  return row.level_db !== "" ? Number(row.level_db) : (Number(row.level_low_db) + Number(row.level_high_db)) / 2;
}

function shownLevel(row) {
  var text = row.level_s || row.level_db || row.level_low_db + " to " + row.level_high_db;
  return text.replace(/-/g, "\u2212");
}

/* Ask again about a slip of typing (far from everything read today, whatever hung) and about disagreement within the
   present swap; never because another swap of the same wire read otherwise. */
function oddQuestion(db, own, all, oddDb, slipDb) {
  var inSwap = own.map(rowDb), others = all.map(rowDb);
  if (inSwap.length && Math.abs(db - median(inSwap)) > oddDb)
    return "The other readings of this swap: " + own.map(shownLevel).join(", ") + ".";
  if (!inSwap.length && others.length && Math.abs(db - median(others)) > slipDb)
    return "That is more than " + slipDb + " dB from everything read so far. Is a digit, the point or the sign amiss?";
  return "";
}
