// Draws phantoms, traces each with one click and plans it with the generic tray; prints Markdown
// tables.

#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <cstdio>

#include "series.h"

int main(int argc, char** argv) {
    CLI::App app{"Plans phantoms drawn at random; Markdown on stdout.", "anfract_series"};
    anfract::series::SeriesOptions options;
    app.add_option("--count", options.count, "teeth")->check(CLI::Range(1, 100000));
    app.add_option("--seed", options.seed, "of the draw");
    app.add_option("--samples", options.samples, "canals drawn for the probabilities")
        ->check(CLI::Range(0, 100000));
    app.add_option("--threads", options.threads, "0: as many as there are processors");
    app.add_option("--keep", options.keep,
                   "folder for teeth and plans; a tooth found there is not traced again")
        ->check(CLI::ExistingDirectory);
    CLI11_PARSE(app, argc, argv);
    const auto teeth = anfract::series::run_series(
        options, [&](int done) { std::fprintf(stderr, "\r%d of %d", done, options.count); });
    std::fprintf(stderr, "\n");
    std::printf("%s", anfract::series::markdown_of(teeth).c_str());
    return 0;
}
