/* Keeping the record through closing the page, reload and power loss. Each state goes into two places that do not fail
   together: localStorage (two slots in turn, so that a torn write leaves the one before) and IndexedDB. Where a browser
   allows neither, the window's name still survives a reload, and the page says aloud that it must be exported. */
function checksum(text) {
  var sum = 2166136261, i;
  for (i = 0; i < text.length; i += 1) sum = Math.imul(sum ^ text.charCodeAt(i), 16777619);
  return (sum >>> 0).toString(16);
}

function Keeper(key) {
  this.key = "antexp." + key;
  this.number = 0;
  this.local = false;
  this.base = null;
  this.indexed = false;
  this.onlyName = false;
}

Keeper.prototype.pack = function (state) {
  var text = JSON.stringify(state);
  return checksum(text) + " " + text;
};

Keeper.prototype.unpack = function (packed) {
  var gap = packed ? packed.indexOf(" ") : -1, text;
  if (gap < 0) return null;
  text = packed.slice(gap + 1);
  if (checksum(text) !== packed.slice(0, gap)) return null;
  try { return JSON.parse(text); } catch (error) { return null; }
};

Keeper.prototype.newest = function (states) {
  return states.reduce(function (best, state) {
    return state && (!best || state.number > best.number) ? state : best;
  }, null);
};

Keeper.prototype.readNow = function () {
  var self = this, found = [];
  ["a", "b"].forEach(function (slot) {
    try { found.push(self.unpack(window.localStorage.getItem(self.key + "." + slot))); } catch (error) { found.push(null); }
  });
  if (window.name.indexOf(self.key + " ") === 0) found.push(self.unpack(window.name.slice(self.key.length + 1)));
  return this.newest(found);
};

Keeper.prototype.open = function (done) {
  var self = this, request, answered = false, local = self.readNow();
  function finish(state) {
    if (answered) return;
    answered = true;
    self.number = state ? state.number : 0;
    done(state);
  }
  try {
    request = window.indexedDB.open("antexp", 1);
    request.onupgradeneeded = function () { request.result.createObjectStore("days"); };
    request.onerror = function () { finish(local); };
    request.onblocked = function () { finish(local); };
    request.onsuccess = function () {
      var ask;
      self.base = request.result;
      ask = self.base.transaction("days").objectStore("days").get(self.key);
      ask.onsuccess = function () {
        self.indexed = true;
        finish(self.newest([local, self.unpack(ask.result || "")]));
      };
      ask.onerror = function () { finish(local); };
    };
    window.setTimeout(function () { finish(local); }, 3000);
  } catch (error) { finish(local); }
};

/* Write a state; `told` is called with true once it is known to be kept. */
Keeper.prototype.save = function (state, told) {
  var self = this, packed, slot, write, other = this.readNow();
  if (other && other.number > self.number) return other;
  self.number += 1;
  state.number = self.number;
  packed = self.pack(state);
  slot = self.key + (self.number % 2 ? ".a" : ".b");
  try {
    window.localStorage.setItem(slot, packed);
    self.local = window.localStorage.getItem(slot) === packed;
  } catch (error) { self.local = false; }
  self.onlyName = !self.local;
  if (self.onlyName) { try { window.name = self.key + " " + packed; } catch (error) { /* nothing keeps it: said below */ } }
  else if (window.name.indexOf(self.key) === 0) window.name = "";
  if (!self.base) { told(self.local); return null; }
  try {
    write = self.base.transaction("days", "readwrite", { durability: "strict" });
    write.objectStore("days").put(packed, self.key);
    write.oncomplete = function () { self.indexed = true; told(true); };
    write.onabort = write.onerror = function () { self.indexed = false; told(self.local); };
  } catch (error) { self.indexed = false; told(self.local); }
  return null;
};
