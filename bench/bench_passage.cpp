// Time of one rehearsal and of one equilibrium. Each result is checked before it is timed.

#include <benchmark/benchmark.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "anfract/passage/lumen.h"
#include "anfract/passage/rehearse.h"
#include "anfract/tray/tray_file.h"

namespace {

using namespace anfract;

/// An invented canal: 6 mm straight, an arc of radius 5 mm through 45 degrees, 2 mm straight; 0.7
/// to 0.35 mm wide.
Lumen curved_lumen() {
    Canal canal;
    canal.name = "invented";
    constexpr double radius = 5, straight = 6, turn = 0.7853981633974483, leg = 2;
    constexpr double length = straight + radius * turn + leg;
    constexpr int steps = 60;
    for (int i = 0; i <= steps; ++i) {
        const double s = length * i / steps;
        const double a = std::clamp((s - straight) / radius, 0.0, turn);
        const double rest = std::max(s - straight - radius * turn, 0.0);
        CanalSample sample;
        sample.depth_mm = 8 + s;
        sample.point_P = Vec3(radius * (1 - std::cos(a)) + rest * std::sin(a), 0,
                              std::min(s, straight) + radius * std::sin(a) + rest * std::cos(a));
        sample.diameter_mm = 0.7 - 0.35 * i / steps;
        canal.samples.push_back(sample);
    }
    return *lumen_of(canal);
}

struct Expected {
    const char* device;
    StoppedBy reason;
    double least_mm, most_mm;
};

void check(benchmark::State& state, const Result<Passage>& passage, const Expected& expected) {
    if (!passage) return state.SkipWithError(passage.error().sentence().c_str());
    if (passage->stopped_by != expected.reason || passage->reaches_mm < expected.least_mm ||
        passage->reaches_mm > expected.most_mm) {
        state.SkipWithError((std::string("unexpected answer: ") + passage->why).c_str());
    }
}

void rehearse_device(benchmark::State& state, Expected expected) {
    const Lumen lumen = curved_lumen();
    const Tray tray = generic_tray();
    const Device& device = *tray.find(expected.device);
    check(state, rehearse(lumen, device), expected);
    for (auto _ : state) benchmark::DoNotOptimize(rehearse(lumen, device));
}

void hold_device(benchmark::State& state, const char* id) {
    const Lumen lumen = curved_lumen();
    const Tray tray = generic_tray();
    const Device& device = *tray.find(id);
    const auto held = hold_at(lumen, device, 18);
    // Between a straight device and one that follows the arc of 5 mm with its shaft.
    if (!held || held->peak_strain <= 0.002 || held->peak_strain > 0.06) {
        state.SkipWithError("unexpected strain");
    }
    for (auto _ : state) benchmark::DoNotOptimize(hold_at(lumen, device, 18));
}

void rehearse_tray(benchmark::State& state) {
    const Lumen lumen = curved_lumen();
    const Tray tray = generic_tray();
    for (const Device& device : tray.devices) {
        const auto passage = rehearse(lumen, device);
        if (!passage || passage->reaches_mm > lumen.depth_mm.back())
            state.SkipWithError("unexpected answer");
    }
    for (auto _ : state) {
        for (const Device& device : tray.devices) benchmark::DoNotOptimize(rehearse(lumen, device));
    }
    state.counters["devices"] = static_cast<double>(tray.devices.size());
    state.counters["ms_per_device"] = benchmark::Counter(
        static_cast<double>(tray.devices.size()) / 1000,
        benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}

BENCHMARK_CAPTURE(rehearse_device, hand_010, Expected{"hand-010-25", StoppedBy::Foramen, 19.8, 20})
    ->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(rehearse_device, rotary_025_04,
                  Expected{"rotary-025-04-25", StoppedBy::Foramen, 19.8, 20})
    ->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(rehearse_device, cannula_30g,
                  Expected{"cannula-30g-25", StoppedBy::Stiffness, 14, 18})
    ->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(hold_device, rotary_025_04, "rotary-025-04-25")->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(hold_device, cone_025_02, "cone-025-02")->Unit(benchmark::kMillisecond);
BENCHMARK(rehearse_tray)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
