/* Says on the page when the server refuses a request or does not answer at all;
   Dash itself would say nothing. */
"use strict";

(() => {
  const ask = window.fetch.bind(window);
  const unanswered = new Map(); // sentences by output, until that output is answered

  function show() {
    let line = document.getElementById("unanswered");
    if (!line) {
      line = document.createElement("p");
      line.id = "unanswered";
      line.setAttribute("role", "alert");
      document.body.append(line);
    }
    const [sentence] = unanswered.values();
    line.textContent = sentence ? `${sentence} Showing the last answer.` : "";
  }

  const output = (options) => {
    try {
      return JSON.parse(options.body).output;
    } catch {
      return "";
    }
  };

  window.fetch = async (address, options) => {
    if (!String(address).includes("_dash-update-component")) return ask(address, options);
    const wanted = output(options);
    try {
      const response = await ask(address, options);
      if (response.ok) unanswered.delete(wanted);
      else unanswered.set(wanted, (await response.clone().text()).trim());
      return response;
    } catch (error) {
      unanswered.set(wanted, "The server does not answer.");
      throw error;
    } finally {
      show();
    }
  };
})();
