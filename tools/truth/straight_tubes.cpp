#include "straight_tubes.h"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "anfract/base/parallel.h"
#include "anfract/phantom/phantom.h"
#include "trial.h"

namespace anfract::truth {
namespace {

/// Mean diameter over the middle of the traced canal; negative when it was not found.
double middle_diameter_mm(const PhantomOptions& options, double length_mm) {
    const Result<Phantom> phantom = make_phantom(options, Progress());
    if (!phantom) return -1;
    TraceRequest request = request_for(*phantom);
    request.threads = 1;
    const Result<Tooth> tooth = trace(phantom->volume, request, Progress());
    if (!tooth || tooth->canals.empty()) return -1;
    const Canal& truth = phantom->truth.canals.front();
    const double middle = 0.5 * (truth.samples.front().depth_mm + truth.depth_to_foramen_mm);
    double sum = 0, count = 0;
    for (const CanalSample& s : tooth->canals.front().samples) {
        if (std::abs(s.depth_mm - middle) > length_mm / 2) continue;
        sum += s.diameter_mm;
        count += 1;
    }
    return count > 0 ? sum / count : -1;
}

double mean_of(const std::vector<double>& values) {
    double sum = 0;
    for (const double v : values) sum += v;
    return sum / double(values.size());
}

double sd_of(const std::vector<double>& values) {
    const double mean = mean_of(values);
    double squares = 0;
    for (const double v : values) squares += (v - mean) * (v - mean);
    return std::sqrt(squares / double(values.size() - 1));
}

}  // namespace

TubeReading read_straight_canal(double diameter_mm, int scans, unsigned workers) {
    TubeReading reading;
    reading.scan.diameter_mm = diameter_mm;
    reading.scans = scans;
    reading.limit = ideal_observer(reading.scan);
    std::vector<double> all(static_cast<std::size_t>(scans));
    parallel_for(all.size(), workers, [&](std::size_t begin, std::size_t end) {
        for (std::size_t i = begin; i < end; ++i) {
            PhantomOptions options;
            options.kind = fmt::format("straight-{}", int(std::lround(100 * diameter_mm)));
            options.seed = i + 1;
            options.threads = 1;
            all[i] = middle_diameter_mm(options, reading.scan.length_mm);
        }
    });
    std::vector<double> diameters, areas;
    for (const double d : all) {
        if (d < 0) continue;
        diameters.push_back(d);
        areas.push_back(std::numbers::pi * d * d / 4);
    }
    reading.found = int(diameters.size());
    if (reading.found < 2) return reading;
    reading.diameter_mean_mm = mean_of(diameters);
    reading.diameter_sd_mm = sd_of(diameters);
    reading.detection_index = mean_of(areas) / sd_of(areas);
    return reading;
}

std::string straight_table(int scans, unsigned workers) {
    std::string out =
        "| width mm | found | width read, mean mm | its sd, um | least sd possible, um | ratio | "
        "detection index reached | ideal | ratio |\n|---|---|---|---|---|---|---|---|---|\n";
    for (const double width : {0.10, 0.15, 0.20, 0.30}) {
        const TubeReading r = read_straight_canal(width, scans, workers);
        out += fmt::format(
            "| {:.2f} | {} of {} | {:.3f} | {:.2f} | {:.2f} | {:.2f} | {:.0f} | {:.0f} | {:.2f} "
            "|\n",
            width, r.found, r.scans, r.diameter_mean_mm, 1000 * r.diameter_sd_mm,
            1000 * r.limit.diameter_sd_mm, r.diameter_sd_mm / r.limit.diameter_sd_mm,
            r.detection_index, r.limit.detection_index,
            r.limit.detection_index / r.detection_index);
    }
    return out;
}

}  // namespace anfract::truth
