// Dash asks for plotly's script, the largest of all, at an address without a version,
// which a browser asks for again on every page. The page names one with a version.
Object.defineProperty(window, "_dashPlotlyJSURL", {
    get: () => document.querySelector('meta[name="plotting-script"]').content,
    set: () => {},
});
