// Makes phantoms in memory, traces each with one click, compares with the truth and prints Markdown
// tables.

#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <atomic>
#include <cstdio>

#include "anfract/base/file.h"
#include "conditions.h"
#include "kinds_table.h"
#include "random_report.h"
#include "straight_tubes.h"

namespace {

using namespace anfract;
using namespace anfract::truth;

struct Settings {
    std::vector<std::string> kinds;
    std::vector<unsigned> seeds{1, 2, 3};
    PhantomOptions options;
    bool canals = false;
    int random = 0, conditions = 0, straight = 0;
    double minutes = 1e9;
    std::uint64_t seed = 1;
    std::string out, figures;
};

void run_kinds(Settings& settings) {
    if (settings.kinds.empty()) {
        for (const PhantomKind& kind : phantom_kinds()) settings.kinds.push_back(kind.name);
    }
    std::vector<Trial> runs;
    for (const std::string& kind : settings.kinds) {
        for (const unsigned seed : settings.seeds) {
            settings.options.kind = kind;
            settings.options.seed = seed;
            runs.push_back(trace_phantom(settings.options));
        }
    }
    if (settings.canals) print_canals(runs);
    print_summary(runs, settings.kinds);
}

Result<void> run_random(const Settings& settings) {
    std::atomic<int> finished{0};
    const std::vector<Trial> runs = trace_phantoms(
        draw_phantoms(settings.random, settings.seed, settings.options), settings.options.threads,
        [&](const Trial&) { std::fprintf(stderr, "\r%d of %d", ++finished, settings.random); },
        settings.minutes);
    std::fprintf(stderr, "\n");
    const Statistics statistics = statistics_of(runs);
    if (settings.canals) print_canals(runs);
    std::printf("%s", markdown_of(statistics).c_str());
    if (!settings.out.empty()) {
        const Result<void> written = write_file_atomically(settings.out, json_of(statistics, runs));
        if (!written) return written;
    }
    if (settings.figures.empty()) return {};
    return write_figures(statistics, settings.figures);
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app{"Traces phantoms and compares with the truth; Markdown on stdout.",
                 "anfract_truth"};
    Settings settings;
    app.add_option("--kinds", settings.kinds, "kinds of phantom (all)")->delimiter(',');
    app.add_option("--seeds", settings.seeds, "seeds")->delimiter(',');
    app.add_option("--random", settings.random, "instead: this many teeth drawn at random")
        ->check(CLI::Range(1, 100000));
    app.add_option("--conditions", settings.conditions,
                   "instead: this many random teeth under each of many conditions")
        ->check(CLI::Range(1, 1000));
    app.add_option("--straight", settings.straight,
                   "instead: this many scans of straight canals, against the ideal observer")
        ->check(CLI::Range(2, 10000));
    app.add_option("--minutes", settings.minutes, "begin no tooth after that (with --random)");
    app.add_option("--seed", settings.seed, "of the draw");
    app.add_option("--out", settings.out, "also as JSON, with every canal (with --random)");
    app.add_option("--figures", settings.figures, "folder for the figures (with --random)")
        ->check(CLI::ExistingDirectory);
    PhantomOptions& options = settings.options;
    app.add_option("--voxel", options.voxel_mm, "voxel edge, mm");
    app.add_option("--noise", options.noise, "standard deviation of the noise, grey units");
    app.add_option("--psf", options.psf_fwhm_mm,
                   "full width at half maximum of the point spread, mm");
    app.add_option("--threads", options.threads, "threads (all)");
    app.add_flag("--metal", options.metal, "with a metal filling");
    app.add_flag("--canals", settings.canals, "also one row for each canal");
    CLI11_PARSE(app, argc, argv);
    if (settings.straight > 0) {
        std::printf("%s", straight_table(settings.straight, settings.options.threads).c_str());
        return 0;
    }
    if (settings.conditions > 0) {
        std::printf(
            "%s",
            condition_table(settings.conditions, settings.seed, settings.options.threads).c_str());
        return 0;
    }
    if (settings.random == 0) {
        run_kinds(settings);
        return 0;
    }
    if (const Result<void> done = run_random(settings); !done) {
        std::fprintf(stderr, "anfract_truth: %s\n", done.error().sentence().c_str());
        return 1;
    }
    return 0;
}
