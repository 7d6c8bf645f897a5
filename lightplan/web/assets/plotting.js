// Dash loads plotly's script, the largest of all, from an address without a version,
// which a browser requests again on every page. The page gives an address with one.
Object.defineProperty(window, "_dashPlotlyJSURL", {
    get: () => document.querySelector('meta[name="plotting-script"]').content,
    set: () => {},
});
