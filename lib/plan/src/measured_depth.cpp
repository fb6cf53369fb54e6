#include "measured_depth.h"

#include <cmath>
#include <limits>

#include "join_lines.h"

namespace anfract {
namespace {

/// A measured depth further beyond the end of the canal in the scan than this is of another canal,
/// another reference point or a perforation.
constexpr double most_beyond_mm = 3.0;
constexpr double least_inside_mm = 1.0;
/// Depths nearer than this are the same: a stop is not set finer.
constexpr double same_depth_mm = 0.05;

/// Rows of a sheet with the last one repeated.
Eigen::ArrayXXd extended(const Eigen::ArrayXXd& sheet, Eigen::Index rows) {
    Eigen::ArrayXXd longer(sheet.rows() + rows, sheet.cols());
    longer.topRows(sheet.rows()) = sheet;
    longer.bottomRows(rows) = sheet.row(sheet.rows() - 1).replicate(rows, 1);
    return longer;
}

/// Carries a lumen on along its last direction.
void extend(Lumen& lumen, double to_depth_mm) {
    const double spacing = lumen.spacing_mm();
    const auto count = std::lround((to_depth_mm - lumen.depth_mm.back()) / spacing);
    if (count < 1) return;
    const double scans_end = lumen.depth_mm.back();
    for (long i = 0; i < count; ++i) {
        lumen.depth_mm.push_back(lumen.depth_mm.back() + spacing);
        lumen.point_P.push_back(lumen.point_P.back() + spacing * lumen.tangent_P.back());
        lumen.tangent_P.push_back(lumen.tangent_P.back());
        lumen.n1_P.push_back(lumen.n1_P.back());
        lumen.n2_P.push_back(lumen.n2_P.back());
    }
    lumen.radius_mm = extended(lumen.radius_mm, count);
    lumen.wall_mm = extended(lumen.wall_mm, count);
    // Where the root ends is in doubt, so the wall beside its end is too.
    for (int i = 0; i < lumen.station_count(); ++i) {
        if (lumen.depth_mm[std::size_t(i)] > scans_end - OrderOptions{}.wall_to_foramen_mm) {
            lumen.wall_mm.row(i) = std::numeric_limits<double>::quiet_NaN();
        }
    }
}

/// What was measured beside what the scan suggests for it.
MeasuredDepth beside_scan(const CanalPlan& plan, double measured_mm, double from_scan_mm) {
    MeasuredDepth found;
    found.from_scan_mm = from_scan_mm;
    found.difference_mm = measured_mm - from_scan_mm;
    if (plan.depth_sd_mm && *plan.depth_sd_mm > 0)
        found.difference_sd = std::abs(found.difference_mm) / *plan.depth_sd_mm;
    return found;
}

/// The working depth of a canal that joins another, and whether what was measured goes beyond.
void set_depth_to_join(CanalPlan& plan, const std::optional<double>& measured_mm,
                       double short_of_mm) {
    const Branching& join = *plan.ends_at_join;
    plan.working_depth_mm = join.depth_mm;
    plan.working_depth_why =
        "Suggested working depth " + mm_text(join.depth_mm) + ": this canal joins " + join.canal +
        " there and is worked no further; the way on to the foramen is shaped through " +
        join.canal + ". To be verified with a cone in " + join.canal +
        " and a file in this canal, which marks it at the join.";
    if (!measured_mm) return;
    plan.measured = beside_scan(plan, *measured_mm, plan.depth_to_foramen_mm - short_of_mm);
    plan.working_depth_why += " The measured " + mm_text(*measured_mm) + " run on through " +
                              join.canal + ", for which the scan suggests " +
                              mm_text(plan.measured->from_scan_mm) + ".";
}

std::string devices_of(const Order& order) {
    std::string names;
    for (const OrderStep& step : order.steps)
        names += (names.empty() ? "" : ", ") + name_of(step.device);
    return names.empty() ? "no instrument" : names;
}

std::string final_of(const Order& order) {
    return order.final_step ? name_of(order.steps[*order.final_step].device) : "none";
}

}  // namespace

Result<void> check_measured_depths(const Tooth& tooth, const PlanOptions& options) {
    for (const auto& [name, depth] : options.measured_depths_mm) {
        const Canal* const canal = tooth.find(name);
        if (!canal) {
            std::string names;
            for (const Canal& one : tooth.canals) names += (names.empty() ? "" : ", ") + one.name;
            return fail(ErrorCode::NotFound,
                        "a depth was measured for canal '" + name + "', which the tooth lacks", "",
                        "its canals are " + names);
        }
        const double orifice = canal->depth_to_foramen_mm - canal->length_mm;
        const double least = orifice + least_inside_mm;
        const double most = canal->depth_to_foramen_mm + most_beyond_mm;
        if (!std::isfinite(depth) || depth < least || depth > most) {
            return fail(ErrorCode::BadInput,
                        "the measured depth " + mm_text(depth) + " is not between " +
                            mm_text(least) + " and " + mm_text(most) +
                            ", where this canal could end",
                        name,
                        "measure again from the reference point the scan was traced with, or trace "
                        "the canal again");
        }
    }
    return {};
}

void set_working_depth(CanalCase& canal) {
    CanalPlan& plan = canal.plan;
    const double short_of = canal.options.short_of_foramen_mm;
    const auto measured = canal.options.measured_depths_mm.find(plan.canal);
    plan.ends_at_join = end_at_join(canal.canal, short_of);
    if (plan.ends_at_join) {
        std::optional<double> depth;
        if (measured != canal.options.measured_depths_mm.end()) depth = measured->second;
        if (!depth || *depth > plan.ends_at_join->depth_mm + same_depth_mm)
            return set_depth_to_join(plan, depth, short_of);
    }
    const double from_scan =
        plan.ends_at_join ? plan.ends_at_join->depth_mm : plan.depth_to_foramen_mm - short_of;
    plan.working_depth_mm = from_scan;
    if (measured == canal.options.measured_depths_mm.end()) {
        plan.working_depth_why =
            "Suggested working depth " + mm_text(from_scan) + ": " + mm_text(short_of) +
            " short of the foramen, to be verified with an apex locator and a radiograph.";
        return;
    }
    plan.working_depth_mm = measured->second;
    const MeasuredDepth found = beside_scan(plan, measured->second, from_scan);
    const double size = std::abs(found.difference_mm);
    plan.working_depth_why = "Working depth " + mm_text(plan.working_depth_mm) +
                             " as measured; the scan suggests " + mm_text(from_scan);
    if (size >= same_depth_mm) {
        plan.working_depth_why +=
            ", " + mm_text(size, 2) + (found.difference_mm > 0 ? " less" : " more");
        if (found.difference_sd)
            plan.working_depth_why += " (" + mm_text(*plan.depth_sd_mm, 2) + " standard deviation)";
    }
    plan.working_depth_why += ". Check it with a radiograph.";
    plan.measured = found;
    if (!plan.ends_at_join) extend(canal.native, measured->second + short_of);
}

std::vector<std::string> depth_changes(const CanalCase& canal, const Order& scans) {
    const MeasuredDepth& measured = *canal.plan.measured;
    const double difference = measured.difference_mm;
    if (canal.plan.ends_at_join && measured.from_scan_mm > canal.plan.working_depth_mm) {
        std::vector<std::string> changes{"Nothing changes: this canal is worked to the join only."};
        if (std::abs(difference) >= same_depth_mm)
            changes.push_back(
                "The join may lie as much deeper or higher than in the scan as the "
                "measured depth does: " +
                mm_text(std::abs(difference), 2) + ".");
        return changes;
    }
    if (std::abs(difference) < same_depth_mm)
        return {"Nothing changes: scan and measurement agree."};
    std::vector<std::string> changes{
        "What goes to the working depth goes " + mm_text(std::abs(difference), 2) +
        (difference > 0 ? " deeper" : " less deep") + " than the scan suggested."};
    if (difference > 0) {
        changes.push_back("The canal below " + mm_text(canal.plan.depth_to_foramen_mm) +
                          " is not in the scan: it is taken as straight and as wide as its end.");
    }
    const std::string now = final_of(canal.order), before = final_of(scans);
    changes.push_back(now == before
                          ? "The final size stays " + now + "."
                          : "The final size becomes " + now + " instead of " + before + ".");
    const std::string order = devices_of(canal.order), was = devices_of(scans);
    changes.push_back(order == was ? "The instruments stay the same."
                                   : "The order becomes " + order + " instead of " + was + ".");
    return changes;
}

}  // namespace anfract
