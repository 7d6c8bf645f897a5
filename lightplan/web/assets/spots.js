/* The page of fixed spots: the list of spots follows the place. */
"use strict";

window.dash_clientside = window.dash_clientside || {};
window.dash_clientside.spots = {
    follow(place, spot, spotsOf) {
      const names = spotsOf[place] || [];
      const kept = names.includes(spot) ? spot : names[0] || null;
      return [names.map((name) => ({ value: name, label: name })), kept];
    },

    // The list sets a field that all pages have.
    chosen(spot) {
      return spot || "";
    },
};
