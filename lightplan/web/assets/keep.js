/* What this browser keeps. If it keeps nothing (cookies off) or nothing more (storage
   full), the page works on with a memory that lasts until the page is left, and says
   so. Dash's stores use window.localStorage and window.sessionStorage and break when
   these fail, so both are replaced; this file's name makes it load before kit.js and
   lightplan.js. */
"use strict";

(() => {
  const SAYS =
    "the colours you choose and the frames you add last until you leave this page, " +
    "and your own places and kit cannot be saved. A trip stays in its address.";

  function show(nothing) {
    if (document.getElementById("keeps-nothing")) return;
    const line = document.createElement("p");
    line.id = "keeps-nothing";
    line.setAttribute("role", "status");
    line.textContent = `This browser saves ${nothing}: ${SAYS}`;
    document.body.prepend(line);
  }

  class Keeper {
    constructor(name) {
      this.memory = new Map(); // what the browser refused
      try {
        this.storage = window[name];
      } catch {
        this.storage = null;
      }
      if (!this.keeps("lightplan", "")) this.warn();
      else this.removeItem("lightplan");
    }

    warn() {
      show(this.storage ? "nothing more" : "nothing");
    }

    // Returns whether the browser has it; for things of no use in memory.
    keeps(key, value) {
      try {
        this.storage.setItem(key, value);
        this.memory.delete(key);
        return true;
      } catch {
        return false;
      }
    }

    setItem(key, value) {
      if (this.keeps(key, value)) return;
      this.memory.set(key, String(value));
      this.warn();
    }

    getItem(key) {
      if (this.memory.has(key)) return this.memory.get(key);
      return this.storage ? this.storage.getItem(key) : null;
    }

    removeItem(key) {
      this.memory.delete(key);
      this.storage?.removeItem(key);
    }

    get keys() {
      return [...new Set([...Object.keys(this.storage || {}), ...this.memory.keys()])];
    }

    get length() {
      return this.keys.length;
    }

    key(index) {
      return this.keys[index] ?? null;
    }
  }

  for (const name of ["localStorage", "sessionStorage"])
    Object.defineProperty(window, name, { value: new Keeper(name) });
})();
