// Time of the order of instruments for a tooth of four canals, and of its risks by number of
// samples. The result is checked before it is timed.

#include <benchmark/benchmark.h>

#include <algorithm>
#include <cmath>

#include "anfract/passage/lumen.h"
#include "anfract/passage/rehearse.h"
#include "anfract/plan/make_plan.h"
#include "anfract/shaping/remove.h"
#include "anfract/shaping/shape_measures.h"
#include "anfract/tray/tray_file.h"

namespace {

using namespace anfract;

/// An invented canal: straight, then an arc that ends at the foramen.
Canal canal(const char* name, double radius_mm, double arc, double foramen_mm) {
    constexpr double straight = 6;
    const double length = straight + radius_mm * arc;
    constexpr int steps = 70;
    Canal made;
    made.name = name;
    for (int i = 0; i <= steps; ++i) {
        const double s = length * i / steps;
        const double angle = std::max(0.0, s - straight) / radius_mm;
        CanalSample sample;
        sample.depth_mm = 8 + s;
        sample.point_P = {radius_mm * (1 - std::cos(angle)), 0,
                          20 - std::min(s, straight) - radius_mm * std::sin(angle)};
        sample.diameter_mm = 0.75 + (foramen_mm - 0.75) * s / length;
        sample.diameter_sd_mm = 0.03;
        made.samples.push_back(sample);
    }
    made.length_mm = length;
    made.depth_to_foramen_mm = 8 + length;
    made.depth_sd_mm = 0.15;
    return made;
}

Tooth four_canals() {
    Tooth tooth;
    tooth.fdi = "26";
    tooth.invented = true;
    tooth.reference_P = {0, 0, 28};
    tooth.canals = {canal("MB", 8, 0.6, 0.18), canal("MB2", 6, 0.7, 0.16),
                    canal("DB", 15, 0.4, 0.2), canal("P", 40, 0.2, 0.3)};
    return tooth;
}

/// Sixty files, spread over the generic tray's.
Tray sixty_files() {
    std::vector<Device> files;
    for (const Device& device : generic_tray().devices) {
        if (device.cuts() && device.length_mm >= 25) files.push_back(device);
    }
    Tray tray;
    for (std::size_t i = 0; i < 60; ++i) tray.devices.push_back(files[i * files.size() / 60]);
    return tray;
}

void plan_four_canals(benchmark::State& state) {
    const Tooth tooth = four_canals();
    const Tray tray = sixty_files();
    PlanOptions options;
    options.samples = int(state.range(0));
    options.threads = unsigned(state.range(1));
    double first = -1;
    for (auto _ : state) {
        const auto plan = make_plan(tooth, tray, options);
        if (!plan) return state.SkipWithError(plan.error().sentence().c_str());
        double any = 0;
        for (const CanalPlan& made : plan->canals) {
            if (!made.final_size || (options.samples > 0 && !made.risks))
                return state.SkipWithError("a canal has no order or no risks");
            if (made.risks) any += made.risks->any;
        }
        // The same seed must give the same plan each time.
        if (first >= 0 && any != first) return state.SkipWithError("another answer");
        first = any;
    }
    state.counters["canals"] = double(tooth.canals.size());
    state.counters["devices"] = double(tray.devices.size());
    state.counters["samples"] = double(options.samples);
}

/// One instrument from its rehearsal to what it leaves: reach, new canal, walls, shift, centring,
/// volume.
void shape_with_one_instrument(benchmark::State& state) {
    const Lumen native = *lumen_of(canal("MB", 8, 0.6, 0.18));
    const Tray tray = generic_tray();
    const Device& device = *tray.find("rotary-030-04-25");
    double removed_mm3 = 0;
    for (auto _ : state) {
        const auto passage = rehearse(native, device);
        if (!passage) return state.SkipWithError(passage.error().sentence().c_str());
        const Lumen shaped = after(native, device, *passage);
        const AtDepth shift = largest_transport_mm(native, shaped);
        benchmark::DoNotOptimize(centring_at(native, shaped, shift.depth_mm));
        benchmark::DoNotOptimize(thinnest_wall_mm(shaped, native.depth_mm.back() - 2));
        removed_mm3 = volume_mm3(shaped) - volume_mm3(native);
    }
    if (!(removed_mm3 > 0.002)) state.SkipWithError("nothing was taken away");
}

BENCHMARK(shape_with_one_instrument)->Unit(benchmark::kMillisecond);
BENCHMARK(plan_four_canals)
    ->ArgNames({"samples", "threads"})
    ->Args({0, 2})
    ->Args({150, 2})
    ->Args({300, 2})
    ->Args({600, 2})
    ->Args({300, 1})
    ->Iterations(1)
    ->MeasureProcessCPUTime()
    ->UseRealTime()
    ->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
