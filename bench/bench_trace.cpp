// One click to a traced tooth, against ITK's filters for the costly steps of the same task on the
// same crop: four-scale vesselness, fast marching with a stopping value, an exact distance map.
// ITK's part ends there, without names, widths, walls or meshes. Both get the same number of
// threads, the benchmark's argument (0: all processors), and are checked before they are timed.

#include <benchmark/benchmark.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <ctime>
#include <map>
#include <string>
#include <string_view>

#include "anfract/phantom/phantom.h"
#include "anfract/tracing/trace.h"
#include "anfract/tracing/trace_session.h"
#include "itk_pipeline.h"
#include "trial.h"

namespace {

using namespace anfract;

constexpr double stop_at = 60;
constexpr float hard_from = 830;

const Phantom& phantom() {
    static const Phantom made = *make_phantom(PhantomOptions{}, Progress());
    return made;
}

TraceRequest request() { return truth::request_for(phantom()); }

Brick whole() {
    const GridGeometry& g = phantom().volume.geometry;
    const Vec3 size(g.size[0], g.size[1], g.size[2]);
    return crop(phantom().volume, g.to_patient((size - Vec3::Ones()) / 2),
                size.cwiseProduct(g.spacing_mm));
}

/// One more edit on a traced tooth: a point of a canal moved by 0.2 mm, to and fro, so that no
/// result is a kept one.
void OneEditByHand(benchmark::State& state) {
    Result<TraceSession> session = TraceSession::open(phantom().volume, request(), Progress());
    if (!session) return state.SkipWithError(session.error().sentence().c_str());
    const Canal& canal = session->traced().canals.front();
    const Vec3 from = canal.samples[canal.samples.size() / 2].point_P;
    double shift_mm = 0.2;
    for (auto _ : state) {
        const Vec3 to = from + Vec3(shift_mm, 0, 0);
        const auto edited = session->edited({MovePoint{canal.name, from, to}});
        if (!edited) return state.SkipWithError(edited.error().sentence().c_str());
        const Canal& moved = edited->canals.front();
        const bool there =
            std::any_of(moved.samples.begin(), moved.samples.end(),
                        [&](const CanalSample& s) { return (s.point_P - to).norm() < 0.12; });
        if (!there) return state.SkipWithError("the point is not where it was put");
        shift_mm = -shift_mm;
    }
}
BENCHMARK(OneEditByHand)->Unit(benchmark::kMillisecond)->UseRealTime();

std::array<int, 3> voxel_of(const GridGeometry& g, const Vec3& point_P) {
    const Vec3 v = g.to_voxel(point_P);
    return {int(std::lround(v.x())), int(std::lround(v.y())), int(std::lround(v.z()))};
}

/// Time by what tracing says that it is doing: of the processor, all threads together, and on the
/// clock.
class StageClock {
  public:
    Progress progress() {
        return Progress([this](double, std::string_view stage) {
            const Moment now{double(std::clock()) * 1000 / CLOCKS_PER_SEC, clock_ms()};
            if (!stage_.empty()) {
                Moment& spent = spent_[stage_];
                spent.processor_ms += now.processor_ms - since_.processor_ms;
                spent.clock_ms += now.clock_ms - since_.clock_ms;
            }
            stage_ = stage;
            since_ = now;
        });
    }
    void write(benchmark::State& state) const {
        constexpr auto mean = benchmark::Counter::kAvgIterations;
        for (const auto& [stage, spent] : spent_) {
            state.counters[stage + " ms"] = benchmark::Counter(spent.processor_ms, mean);
            state.counters[stage + " clock ms"] = benchmark::Counter(spent.clock_ms, mean);
        }
    }

  private:
    struct Moment {
        double processor_ms = 0, clock_ms = 0;
    };
    static double clock_ms() {
        const auto now = std::chrono::steady_clock::now().time_since_epoch();
        return std::chrono::duration<double, std::milli>(now).count();
    }

    std::string stage_;
    Moment since_;
    std::map<std::string, Moment> spent_;
};

void TraceOneClick(benchmark::State& state) {
    TraceRequest asked = request();
    asked.threads = unsigned(state.range(0));
    const auto first = trace(phantom().volume, asked, Progress());
    if (!first) return state.SkipWithError(first.error().sentence().c_str());
    const truth::ToothError error = truth::compare(*first, phantom());
    for (const truth::CanalError& canal : error.canals) {
        if (!canal.found() || canal.line_rms_mm > 0.1)
            return state.SkipWithError("a canal is not right");
    }
    if (!error.invented.empty()) return state.SkipWithError("a canal was invented");
    StageClock stages;
    for (auto _ : state)
        benchmark::DoNotOptimize(trace(phantom().volume, asked, stages.progress()));
    stages.write(state);
    const auto& size = phantom().volume.geometry.size;
    state.SetLabel(std::to_string(size[0]) + "x" + std::to_string(size[1]) + "x" +
                   std::to_string(size[2]));
}
BENCHMARK(TraceOneClick)
    ->Arg(1)
    ->Arg(0)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime()
    ->MeasureProcessCPUTime();

void ItkPipeline(benchmark::State& state) {
    const Brick brick = whole();
    const GridGeometry& g = brick.geometry;
    const auto seed = voxel_of(g, phantom().inside_P);
    const Vec3& spacing = g.spacing_mm;
    const bench::PlainImage plain{g.size, {spacing.x(), spacing.y(), spacing.z()}, brick.grey};
    const auto threads = unsigned(state.range(0));
    const bench::ItkTrace first = bench::trace_with_itk(plain, seed, hard_from, stop_at, threads);
    // On a wide canal ITK must see a tube, and its front must come to the middle of every canal.
    for (const Canal& canal : phantom().truth.canals) {
        const Vec3 middle = canal.samples[canal.samples.size() / 2].point_P;
        const auto v = voxel_of(g, middle);
        const std::size_t n = g.index(v[0], v[1], v[2]);
        if (first.vesselness[n] <= 0) return state.SkipWithError("ITK sees no tube in a canal");
        if (!(first.arrival[n] < 1e6))
            return state.SkipWithError("ITK's front did not come to a canal");
    }
    for (auto _ : state) {
        benchmark::DoNotOptimize(bench::trace_with_itk(plain, seed, hard_from, stop_at, threads));
    }
}
BENCHMARK(ItkPipeline)
    ->Arg(1)
    ->Arg(0)
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime()
    ->MeasureProcessCPUTime();

}  // namespace

BENCHMARK_MAIN();
