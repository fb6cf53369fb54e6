#include "series.h"

#include <fmt/format.h>

#include <chrono>
#include <cmath>
#include <ctime>

#include "anfract/passage/lumen.h"
#include "anfract/phantom/phantom.h"
#include "anfract/plan/make_plan.h"
#include "anfract/plan/plan_file.h"
#include "anfract/shaping/order.h"
#include "anfract/tooth/tooth_file.h"
#include "anfract/tray/tray_file.h"
#include "trial.h"

namespace anfract::series {
namespace {

Result<Tooth> traced(const PhantomOptions& options) {
    const Result<Phantom> phantom = make_phantom(options, {});
    if (!phantom) return tl::unexpected(phantom.error());
    TraceRequest request = truth::request_for(*phantom);
    request.threads = options.threads;
    return trace(phantom->volume, request, {});
}

Result<Tooth> tooth_of(const PhantomOptions& options, const std::filesystem::path& kept) {
    if (!kept.empty() && std::filesystem::exists(kept)) return read_tooth(kept);
    Result<Tooth> tooth = traced(options);
    if (!tooth || kept.empty()) return tooth;
    const Result<void> written = write_tooth(kept, *tooth);
    if (!written) return tl::unexpected(written.error());
    return tooth;
}

std::string size_text(const FinalSize& size) {
    return fmt::format("{:02.0f}/.{:02.0f}", size.tip_mm * 100, size.taper * 100);
}

void add_canals(const Plan& plan, PlannedTooth& tooth) {
    for (const CanalPlan& canal : plan.canals) {
        PlannedCanal planned{canal, INFINITY, ""};
        if (canal.final_size) planned.final_size = size_text(*canal.final_size);
        const auto lumen = lumen_of(*plan.tooth.find(canal.canal));
        if (lumen) planned.least_radius_mm = 1 / sharpest_bend_per_mm(*lumen).value;
        tooth.canals.push_back(std::move(planned));
    }
}

Result<void> plan_one(const PhantomOptions& drawn, const SeriesOptions& options,
                      PlannedTooth& tooth) {
    const auto file = [&](const char* kind) {
        if (options.keep.empty()) return std::filesystem::path();
        return options.keep / fmt::format("{}-{:06}.json", kind, drawn.seed);
    };
    const Result<Tooth> traced = tooth_of(drawn, file("tooth"));
    if (!traced) return tl::unexpected(traced.error());
    tooth.fdi = traced->fdi;
    PlanOptions how;
    how.samples = options.samples;
    how.threads = options.threads;
    const auto start = std::chrono::steady_clock::now();
    const std::clock_t cpu_start = std::clock();
    const Result<Plan> plan = make_plan(*traced, generic_tray(), how);
    tooth.cpu_seconds = double(std::clock() - cpu_start) / CLOCKS_PER_SEC;
    tooth.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    if (!plan) return tl::unexpected(plan.error());
    add_canals(*plan, tooth);
    if (options.keep.empty()) return {};
    return write_plan(file("plan"), *plan);
}

}  // namespace

std::vector<PlannedTooth> run_series(const SeriesOptions& options,
                                     const std::function<void(int)>& done) {
    PhantomOptions base;
    base.threads = options.threads;
    std::vector<PlannedTooth> teeth;
    for (const PhantomOptions& drawn : truth::draw_phantoms(options.count, options.seed, base)) {
        PlannedTooth& tooth = teeth.emplace_back();
        tooth.seed = drawn.seed;
        if (const auto planned = plan_one(drawn, options, tooth); !planned)
            tooth.failure = planned.error().sentence();
        done(int(teeth.size()));
    }
    return teeth;
}

}  // namespace anfract::series
