#include "anfract/plan/make_plan.h"

#include <algorithm>

#include "anfract/plan/cautions.h"
#include "canal_case.h"
#include "join_lines.h"
#include "measured_depth.h"

namespace anfract {
namespace {

OrderOptions order_options(const PlanOptions& options, double working_depth_mm, double wall_error) {
    OrderOptions order;
    order.working_depth_mm = working_depth_mm;
    order.access = options.access;
    order.friction = options.friction;
    order.wall_least_mm = options.wall_least_mm;
    order.wall_error_mm = wall_error;
    order.threads = options.threads;
    return order;
}

Result<CanalCase> plan_canal(const Canal& canal, const Tooth& tooth, const Tray& tray,
                             const PlanOptions& options, const Progress& progress) {
    Result<Lumen> lumen = lumen_of(canal);
    if (!lumen) return tl::unexpected(lumen.error());
    // Kept for comparison: a measured depth may lengthen the canal.
    const Lumen scan_lumen = *lumen;
    CanalCase made{canal, tray, options, std::move(*lumen), {}, wall_error_mm(tooth), {}, {}};
    CanalPlan& plan = made.plan;
    plan.canal = canal.name;
    plan.presence = canal.presence;
    plan.depth_to_foramen_mm = canal.depth_to_foramen_mm;
    plan.depth_sd_mm = canal.depth_sd_mm;
    set_working_depth(made);
    const OrderOptions how = order_options(options, plan.working_depth_mm, made.wall_error_mm);
    auto order = find_order(made.native, tray, how, Progress(progress, 0, 0.5));
    if (!order) return tl::unexpected(order.error());
    made.order = std::move(*order);
    write_order(made);
    if (plan.measured) {
        OrderOptions scans_how = how;
        scans_how.working_depth_mm = plan.measured->from_scan_mm;
        const auto scans = find_order(scan_lumen, tray, scans_how, Progress(progress, 0.5, 0.6));
        if (!scans) return tl::unexpected(scans.error());
        plan.measured->changes = depth_changes(made, *scans);
    }
    if (auto done = write_risks(made, how, Progress(progress, 0.6, 0.95)); !done)
        return tl::unexpected(done.error());
    write_removal(made, tooth);
    write_joins(made, tooth);
    if (auto done = write_recapitulation(made); !done) return tl::unexpected(done.error());
    if (auto done = write_missing(made, how, Progress(progress, 0.95, 0.95)); !done)
        return tl::unexpected(done.error());
    if (auto done = write_passive(made, Progress(progress, 0.95, 1)); !done)
        return tl::unexpected(done.error());
    return made;
}

/// The canals of a tooth, each followed by those that join it: work begins with the one that goes
/// to the foramen (common practice, no source).
void add_with_joining(const Tooth& tooth, const Canal& canal, double short_of_foramen_mm,
                      std::vector<const Canal*>& order) {
    order.push_back(&canal);
    for (const Canal& other : tooth.canals) {
        const auto join = end_at_join(other, short_of_foramen_mm);
        if (join && join->canal == canal.name)
            add_with_joining(tooth, other, short_of_foramen_mm, order);
    }
}

std::vector<const Canal*> in_order_of_work(const Tooth& tooth, double short_of_foramen_mm) {
    std::vector<const Canal*> order;
    for (const Canal& canal : tooth.canals) {
        if (!end_at_join(canal, short_of_foramen_mm))
            add_with_joining(tooth, canal, short_of_foramen_mm, order);
    }
    return order;
}

/// Moves a canal's lines into the plan; their passages then count from where the plan's end.
void append(Plan& plan, CanalCase canal) {
    const int first = int(plan.passages.size());
    CanalPlan& lines = canal.plan;
    if (lines.smallest.passage) *lines.smallest.passage += first;
    if (lines.final_size) lines.final_size->passage += first;
    if (lines.recapitulation) lines.recapitulation->passage += first;
    for (PlanStep& step : lines.order) step.passage += first;
    for (PlanAlternative& other : lines.alternatives) {
        for (PlanStep& step : other.order) step.passage += first;
    }
    for (PassiveDevice& passive : lines.passive) passive.passage += first;
    for (PlanPassage& passage : canal.passages) plan.passages.push_back(std::move(passage));
    plan.canals.push_back(std::move(lines));
}

}  // namespace

Result<Plan> make_plan(const Tooth& tooth, const Tray& tray, const PlanOptions& options,
                       const Progress& progress) {
    if (tooth.canals.empty()) {
        return fail(ErrorCode::BadInput, "the tooth has no canals to plan", "",
                    "trace it again, or insist on a canal");
    }
    if (auto good = check_measured_depths(tooth, options); !good)
        return tl::unexpected(good.error());
    Plan plan;
    plan.invented = tooth.invented;
    plan.access = options.access;
    plan.tooth = tooth;
    plan.tray = tray;
    const auto canals = in_order_of_work(tooth, options.short_of_foramen_mm);
    for (std::size_t i = 0; i < canals.size(); ++i) {
        const double count = double(canals.size());
        progress.report(double(i) / count, "planning canal " + canals[i]->name);
        if (progress.cancelled()) return fail(ErrorCode::Cancelled, "planning was stopped");
        auto canal = plan_canal(*canals[i], tooth, tray, options,
                                Progress(progress, double(i) / count, double(i + 1) / count));
        if (!canal) return tl::unexpected(canal.error());
        for (PlanWarning& warning : warnings_of(*canal, tooth))
            plan.warnings.push_back(std::move(warning));
        append(plan, std::move(*canal));
    }
    std::stable_sort(
        plan.warnings.begin(), plan.warnings.end(),
        [](const PlanWarning& a, const PlanWarning& b) { return a.severity > b.severity; });
    plan.basis = basis_of(tooth, tray, options);
    plan.cautions = plan_cautions();
    progress.report(1, "planned");
    return plan;
}

}  // namespace anfract
