// Time of one equilibrium by its number of nodes, and of CalculiX on the same rods in the same run
// (where `ccx` is installed). Each answer is checked against the kept one of the solids first.

#include <benchmark/benchmark.h>
#include <sys/resource.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>
#include <string>

#include "../lib/passage/src/beam.h"
#include "../lib/passage/src/guide.h"
#include "../lib/passage/src/rod.h"
#include "../tools/calculix/tube_canal.h"

namespace {

using namespace anfract;
namespace fs = std::filesystem;

const fs::path decks = fs::path(ANFRACT_SOURCE_DIR) / "tools/calculix";

Device rod_of(const calculix::TubeCase& given) {
    Device rod;
    rod.id = "rod";
    rod.kind = DeviceKind::AgitationTip;
    rod.material = LinearMaterial{given.modulus_MPa};
    rod.tip_mm = given.rod_mm;
    rod.working_part_mm = rod.length_mm = 30;
    return rod;
}

double kept_peak_strain(const std::string& name) {
    std::ifstream in(decks / (name + ".txt"));
    std::string line;
    double peak = 0;
    while (std::getline(in, line)) {
        std::istringstream row(line);
        double value = 0;
        for (int column = 0; column < 5; ++column) row >> value;
        if (row) peak = std::max(peak, value);
    }
    return peak;
}

/// What is held, ready to be timed.
struct Bench {
    explicit Bench(const std::string& name)
        : given(*calculix::find_case(name)),
          lumen(*lumen_of(calculix::canal_of(given), 0.05)),
          guide(lumen),
          device(rod_of(given)),
          beam(device) {
        options.friction = 0;
    }
    RodState hold(double tip_mm, int nodes, const RodState* near) {
        options.spacing_mm = tip_mm / (nodes - 1) * (1 + 1e-9);
        return hold_rod(guide, beam, tip_mm, options, near);
    }

    const calculix::TubeCase& given;
    Lumen lumen;
    Guide guide;
    Device device;
    Beam beam;
    RodOptions options;
};

std::map<std::string, double> seconds_of_ours;

double processor_seconds(int whose) {
    rusage used{};
    getrusage(whose, &used);
    return static_cast<double>(used.ru_utime.tv_sec + used.ru_stime.tv_sec) +
           1e-6 * static_cast<double>(used.ru_utime.tv_usec + used.ru_stime.tv_usec);
}

/// From nothing, or from beside: the rod a tenth of a millimetre higher is known, as when it is
/// dragged.
void equilibrium(benchmark::State& state, const std::string& name, bool from_nothing) {
    Bench bench(name);
    const int nodes = static_cast<int>(state.range(0));
    const double tip = bench.given.rod_length_mm;
    const RodState beside = bench.hold(tip - 0.1, nodes, nullptr);
    const auto answer = [&] { return bench.hold(tip, nodes, from_nothing ? nullptr : &beside); };
    const RodState held = answer();
    const double peak = *std::max_element(held.strain.begin(), held.strain.end());
    const double kept = kept_peak_strain(name);
    if (!held.converged || std::abs(peak / kept - 1) > 0.05)
        state.SkipWithError("another strain than the solids'");
    const double before = processor_seconds(RUSAGE_THREAD);
    for (auto _ : state) benchmark::DoNotOptimize(answer());
    if (from_nothing && nodes == 300) {
        seconds_of_ours[name] =
            (processor_seconds(RUSAGE_THREAD) - before) / static_cast<double>(state.iterations());
    }
    state.counters["nodes"] = static_cast<double>(held.point_P.size());
    state.counters["rounds"] = held.rounds;
    state.counters["newton_steps"] = held.iterations;
    state.SetComplexityN(nodes);
}

void calculix_run(benchmark::State& state, const std::string& name) {
    if (std::system("command -v ccx >/dev/null") != 0) {
        state.SkipWithError("ccx is not installed");
        return;
    }
    const fs::path bin = fs::read_symlink("/proc/self/exe").parent_path();
    const fs::path folder = fs::temp_directory_path() / "anfract-bench-calculix";
    fs::create_directories(folder);
    const std::string run = "cd " + folder.string() + " && " +
                            (bin / "calculix_make_deck").string() + " " + name + " " + name +
                            ".inp " + (decks / (name + ".txt")).string() +
                            " && OMP_NUM_THREADS=1 ccx " + name + " >" + name + ".log 2>&1";
    const double before = processor_seconds(RUSAGE_CHILDREN);
    for (auto _ : state) {
        if (std::system(run.c_str()) != 0) state.SkipWithError("ccx did not come to an end");
    }
    const double seconds = processor_seconds(RUSAGE_CHILDREN) - before;
    state.counters["cpu_s"] = seconds;
    if (seconds_of_ours.count(name)) state.counters["times_ours"] = seconds / seconds_of_ours[name];
    std::error_code ignored;
    fs::remove_all(folder, ignored);
}

#define ANFRACT_EQUILIBRIUM(NAME, FROM_NOTHING, LABEL)        \
    BENCHMARK_CAPTURE(equilibrium, LABEL, NAME, FROM_NOTHING) \
        ->Arg(100)                                            \
        ->Arg(300)                                            \
        ->Arg(900)                                            \
        ->Complexity(benchmark::oN)                           \
        ->Unit(benchmark::kMillisecond)
ANFRACT_EQUILIBRIUM("planar", true, planar_from_nothing);
ANFRACT_EQUILIBRIUM("planar", false, planar_from_beside);
ANFRACT_EQUILIBRIUM("tight", true, tight_from_nothing);
ANFRACT_EQUILIBRIUM("tight", false, tight_from_beside);
BENCHMARK_CAPTURE(calculix_run, planar, "planar")->Iterations(1)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(calculix_run, tight, "tight")->Iterations(1)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
