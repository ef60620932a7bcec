/* Times: the device's own clock, written with its offset from UTC. */
function two(number) { return (number < 10 ? "0" : "") + number; }

function isoTime(milliseconds) {
  var t = new Date(milliseconds), off = -t.getTimezoneOffset();
  return t.getFullYear() + "-" + two(t.getMonth() + 1) + "-" + two(t.getDate()) + "T" + two(t.getHours()) + ":" +
    two(t.getMinutes()) + ":" + two(t.getSeconds()) + (off < 0 ? "-" : "+") + two(Math.floor(Math.abs(off) / 60)) + ":" +
    two(Math.abs(off) % 60);
}

function clockTime(milliseconds) {
  var t = new Date(milliseconds);
  return two(t.getHours()) + ":" + two(t.getMinutes());
}

function otherClock(text, now) {
  var parts = /^(\d{1,2})[:. ](\d{2})(?:[:. ](\d{2}))?$/.exec(text.trim()), t = new Date(now), best;
  if (!parts || Number(parts[1]) > 23 || Number(parts[2]) > 59 || Number(parts[3] || 0) > 59) return null;
  t.setHours(Number(parts[1]), Number(parts[2]), Number(parts[3] || 0), 0);
  best = t.getTime();
  if (best - now > 43200000) best -= 86400000;
  if (now - best > 43200000) best += 86400000;
  return best;
}
