#include "conditions.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "anfract/phantom/random.h"
#include "statistics.h"

namespace anfract::truth {
namespace {

PhantomOptions with(void (*change)(PhantomOptions&)) {
    PhantomOptions options;
    options.kind = "random";
    change(options);
    return options;
}

std::string row(const std::string& name, const std::vector<Trial>& runs) {
    const Statistics s = statistics_of(runs);
    const Share& found = at_threshold(s.all, stated_from).sensitivity;
    const Share& clean = at_threshold(s.all, stated_from).specificity;
    const auto leaks = std::count_if(runs.begin(), runs.end(), [](const Trial& run) {
        return run.failure.empty() && run.error.surface_leaks();
    });
    const auto moved = std::count_if(runs.begin(), runs.end(), [](const Trial& run) {
        return std::any_of(run.findings.begin(), run.findings.end(),
                           [](const std::string& finding) {
                               return finding.find("as when the head moves") != std::string::npos;
                           });
    });
    return fmt::format(
        "| {} | {} of {} | {} of {} | {} of {} | {:.3f} | {:.2f} | {:.2f} | {:.0f} % | {:.2f} | "
        "{:.3f} | {} | {} |\n",
        name, s.teeth - s.failed, s.teeth, found.hits, found.count, clean.hits, clean.count,
        s.spreads[0].median, s.spreads[1].median, s.spreads[2].p95, 100 * s.spreads[3].rms,
        s.spreads[4].p95, s.spreads[5].median, leaks, moved);
}

/// One line a tooth, for whoever wants to look at single ones.
std::string line_of(const std::string& condition, const Trial& run) {
    double wall = 0;
    std::string missed;
    for (const CanalError& canal : run.error.canals) {
        if (!canal.found()) missed += " " + canal.name;
        wall = std::max(wall, canal.wall_rms_mm);
    }
    std::string line = fmt::format(
        "{}: {} {}: surface {:.3f} mm, {:.1f} % of it far; wall {:.2f} mm; invented {}; missed{}; "
        "{:.2f} s; {}",
        condition, run.fdi, run.options.seed, run.error.surface_rms_mm,
        100 * run.error.surface_far_share, wall, run.error.invented.size(), missed, run.cpu_seconds,
        run.failure);
    for (const std::string& finding : run.findings) line += " | " + finding;
    return line + "\n";
}

}  // namespace

std::vector<Condition> conditions() {
    using O = PhantomOptions;
    return {
        {"usual: voxel 0.125, point spread 0.25, noise 70", with([](O&) {})},
        {"voxel 0.075 mm", with([](O& o) { o.voxel_mm = 0.075; })},
        {"voxel 0.2 mm", with([](O& o) { o.voxel_mm = 0.2; })},
        {"voxel 0.25 mm", with([](O& o) { o.voxel_mm = 0.25; })},
        {"point spread 0.15 mm", with([](O& o) { o.psf_fwhm_mm = 0.15; })},
        {"point spread 0.45 mm", with([](O& o) { o.psf_fwhm_mm = 0.45; })},
        {"noise 30", with([](O& o) { o.noise = 30; })},
        {"noise 150", with([](O& o) { o.noise = 150; })},
        {"grey scale 0.6, offset +500", with([](O& o) {
             o.grey_scale = 0.6;
             o.grey_offset = 500;
         })},
        {"grey scale 3, offset -1000", with([](O& o) {
             o.grey_scale = 3;
             o.grey_offset = -1000;
         })},
        {"field of 16 mm that cuts the tooth", with([](O& o) { o.field_mm = 16; })},
        {"head moved by 0.3 mm", with([](O& o) { o.movement_mm = 0.3; })},
        {"head moved by 0.8 mm", with([](O& o) { o.movement_mm = 0.8; })},
        {"15 degrees of the half turn missing", with([](O& o) { o.missing_arc_deg = 15; })},
        {"neighbours all but touching", with([](O& o) { o.neighbours = true; })},
        {"thin bone", with([](O& o) { o.thin_bone = true; })},
        {"metal: fillings, crowns, overhangs", with([](O& o) { o.metal = true; })},
    };
}

PhantomOptions draw_scanner(std::uint64_t seed) {
    constexpr std::uint64_t scanner_stream = 1001;
    Random random(seed, scanner_stream);
    constexpr std::array voxels{0.075, 0.1, 0.125, 0.15, 0.2, 0.25};
    PhantomOptions o;
    o.kind = "random";
    o.voxel_mm = voxels[random.bits() % voxels.size()];
    o.psf_fwhm_mm = std::max(random.uniform(0.15, 0.45), 0.75 * o.voxel_mm);
    o.noise = random.uniform(30, 150);
    o.grey_scale = std::exp(random.uniform(std::log(0.5), std::log(3.0)));
    o.grey_offset = random.uniform(-1000, 1000);
    o.neighbours = random.uniform() < 0.7;
    o.thin_bone = random.uniform() < 0.2;
    o.metal = random.uniform() < 0.2;
    o.field_mm = random.uniform() < 0.15 ? random.uniform(14, 22) : 0;
    o.movement_mm = random.uniform() < 0.2 ? random.uniform(0.1, 0.6) : 0;
    o.missing_arc_deg = random.uniform() < 0.15 ? random.uniform(5, 20) : 0;
    return o;
}

std::string condition_table(int count, std::uint64_t seed, unsigned workers) {
    std::string out =
        "| condition | teeth traced | canals of 0.15 mm and more stated | roots of one canal left "
        "at one | line mm, median | foramen mm, median | depth mm, 95 % below | width rms at 0.25 "
        "mm | thinnest wall mm, 95 % below | surface mm, median | surface leaks "
        "| movement told |\n|---|---|---|---|---|---|---|---|---|---|---|---|\n";
    const auto run = [&](const std::string& name, const std::vector<PhantomOptions>& teeth) {
        out += row(name, trace_phantoms(teeth, workers, [&](const Trial& trial) {
                       std::fprintf(stderr, "%s", line_of(name, trial).c_str());
                   }));
    };
    for (const Condition& condition : conditions())
        run(condition.name, draw_phantoms(count, seed, condition.options));
    std::vector<PhantomOptions> varied = draw_phantoms(count, seed, {});
    for (PhantomOptions& options : varied) {
        const PhantomOptions scanner = draw_scanner(options.seed);
        const std::uint64_t tooth_seed = options.seed;
        options = scanner;
        options.seed = tooth_seed;
    }
    run("all of these at random", varied);
    return out;
}

}  // namespace anfract::truth
