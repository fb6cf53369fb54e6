// Makes phantoms in memory, traces each with one click, compares with the truth and prints Markdown
// tables:
//   anfract_truth [--kinds a,b] [--seeds 1,2,3] [--voxel 0.125] [--noise 70] [--canals] [--threads
//   N]

#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <ctime>

#include "anfract/tracing/trace.h"
#include "compare.h"

namespace {

using namespace anfract;
using anfract::truth::CanalError;
using anfract::truth::ToothError;

struct Run {
    PhantomOptions options;
    ToothError error;
    double seconds = 0;      ///< on the clock
    double cpu_seconds = 0;  ///< of all threads
    std::string failure;
};

Run run_one(const PhantomOptions& options) {
    Run run;
    run.options = options;
    Progress progress;
    const Result<Phantom> phantom = make_phantom(options, progress);
    if (!phantom) {
        run.failure = phantom.error().sentence();
        return run;
    }
    TraceRequest request;
    request.inside_P = phantom->inside_P;
    request.reference_P = phantom->reference_P;
    request.fdi = phantom->truth.fdi;
    request.threads = options.threads;
    const auto start = std::chrono::steady_clock::now();
    const std::clock_t cpu_start = std::clock();
    const Result<Tooth> tooth = trace(phantom->volume, request, progress);
    run.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    run.cpu_seconds = double(std::clock() - cpu_start) / CLOCKS_PER_SEC;
    if (!tooth) {
        run.failure = tooth.error().sentence();
        return run;
    }
    run.error = truth::compare(*tooth, *phantom);
    return run;
}

void print_canal(const Run& run, const CanalError& c) {
    std::printf("| %s %d | %s | %.2f |", run.options.kind.c_str(), int(run.options.seed),
                c.name.c_str(), c.least_width_mm);
    if (!c.found()) {
        std::printf(" not found | | | | | | | | |\n");
        return;
    }
    std::printf(
        " %s | %.3f | %.3f / %.2f | %.2f | %+.2f | %.0f %% / %+.0f %% | %.1f | %.2f | %.2f |\n",
        c.traced_name.c_str(), c.presence, c.line_rms_mm, c.line_max_mm, c.foramen_mm, c.depth_mm,
        100 * c.width_rms, 100 * c.width_mean, c.width_z_rms, c.wall_rms_mm, c.false_bend_per_mm);
}

void print_canals(const std::vector<Run>& runs) {
    std::printf(
        "| phantom | canal | least width mm | traced as | presence | line rms / max mm | foramen "
        "mm "
        "| depth mm | width rms / mean | width error / sd | thinnest wall mm "
        "| false bend per mm |\n"
        "|---|---|---|---|---|---|---|---|---|---|---|---|\n");
    for (const Run& run : runs) {
        for (const CanalError& c : run.error.canals) print_canal(run, c);
        for (const std::string& name : run.error.invented) {
            std::printf("| %s %d | *invented* | | %s | | | | | | | | |\n", run.options.kind.c_str(),
                        int(run.options.seed), name.c_str());
        }
    }
}

void print_summary(const std::vector<Run>& runs, const std::vector<std::string>& kinds) {
    std::printf(
        "\n| kind | wide canals found | narrow found | invented | line rms mm | foramen mm (worst) "
        "| depth mm (worst) | width rms | thinnest wall rms mm | surface rms mm | false bend per "
        "mm "
        "(worst) | time s | cpu s |\n"
        "|---|---|---|---|---|---|---|---|---|---|---|---|---|\n");
    for (const std::string& kind : kinds) {
        int wide = 0, wide_found = 0, narrow = 0, narrow_found = 0, invented = 0, count = 0,
            teeth = 0;
        double line = 0, foramen = 0, depth = 0, width = 0, wall = 0, surface = 0, bend = 0,
               seconds = 0, cpu = 0;
        for (const Run& run : runs) {
            if (run.options.kind != kind) continue;
            if (!run.failure.empty()) {
                std::printf("| %s %d | %s |\n", kind.c_str(), int(run.options.seed),
                            run.failure.c_str());
                continue;
            }
            ++teeth;
            seconds += run.seconds;
            cpu += run.cpu_seconds;
            surface += run.error.surface_rms_mm * run.error.surface_rms_mm;
            invented += int(run.error.invented.size());
            for (const CanalError& c : run.error.canals) {
                (c.least_width_mm >= 0.25 ? wide : narrow) += 1;
                if (!c.found()) continue;
                (c.least_width_mm >= 0.25 ? wide_found : narrow_found) += 1;
                ++count;
                bend = std::max(bend, c.false_bend_per_mm);
                line += c.line_rms_mm * c.line_rms_mm;
                foramen = std::max(foramen, c.foramen_mm);
                depth = std::max(depth, std::abs(c.depth_mm));
                width += c.width_rms * c.width_rms;
                wall += c.wall_rms_mm * c.wall_rms_mm;
            }
        }
        const auto rms = [&](double sum, int n) { return n > 0 ? std::sqrt(sum / n) : 0.0; };
        std::printf(
            "| %s | %d of %d | %d of %d | %d | %.3f | %.2f | %.2f | %.0f %% | %.2f | %.3f | %.2f | "
            "%.2f | %.2f |\n",
            kind.c_str(), wide_found, wide, narrow_found, narrow, invented, rms(line, count),
            foramen, depth, 100 * rms(width, count), rms(wall, count), rms(surface, teeth), bend,
            teeth > 0 ? seconds / teeth : 0.0, teeth > 0 ? cpu / teeth : 0.0);
    }
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app{"Traces phantoms and compares with the truth; Markdown on stdout.",
                 "anfract_truth"};
    std::vector<std::string> kinds;
    std::vector<unsigned> seeds{1, 2, 3};
    PhantomOptions options;
    bool canals = false;
    app.add_option("--kinds", kinds, "kinds of phantom (all)")->delimiter(',');
    app.add_option("--seeds", seeds, "seeds")->delimiter(',');
    app.add_option("--voxel", options.voxel_mm, "voxel edge, mm");
    app.add_option("--noise", options.noise, "standard deviation of the noise, grey units");
    app.add_option("--psf", options.psf_fwhm_mm,
                   "full width at half maximum of the point spread, mm");
    app.add_option("--threads", options.threads, "threads (all)");
    app.add_flag("--metal", options.metal, "with a metal filling");
    app.add_flag("--canals", canals, "also one row for each canal");
    CLI11_PARSE(app, argc, argv);
    if (kinds.empty()) {
        for (const PhantomKind& kind : phantom_kinds()) kinds.push_back(kind.name);
    }
    std::vector<Run> runs;
    for (const std::string& kind : kinds) {
        for (const unsigned seed : seeds) {
            options.kind = kind;
            options.seed = seed;
            runs.push_back(run_one(options));
        }
    }
    if (canals) print_canals(runs);
    print_summary(runs, kinds);
    return 0;
}
