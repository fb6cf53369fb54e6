#include "kinds_table.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace anfract::truth {
namespace {

void print_canal(const Trial& run, const CanalError& c) {
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

}  // namespace

void print_canals(const std::vector<Trial>& runs) {
    std::printf(
        "| phantom | canal | least width mm | traced as | presence | line rms / max mm | foramen "
        "mm "
        "| depth mm | width rms / mean | width error / sd | thinnest wall mm "
        "| false bend per mm |\n"
        "|---|---|---|---|---|---|---|---|---|---|---|---|\n");
    for (const Trial& run : runs) {
        for (const CanalError& c : run.error.canals) print_canal(run, c);
        for (const InventedCanal& canal : run.error.invented) {
            std::printf("| %s %d | *invented* | | %s | | | | | | | | |\n", run.options.kind.c_str(),
                        int(run.options.seed), canal.name.c_str());
        }
    }
}

void print_summary(const std::vector<Trial>& runs, const std::vector<std::string>& kinds) {
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
        for (const Trial& run : runs) {
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

}  // namespace anfract::truth
