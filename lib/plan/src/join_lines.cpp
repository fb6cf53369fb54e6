#include "join_lines.h"

#include <algorithm>

#include "anfract/tooth/clinical_frame.h"
#include "canal_case.h"

namespace anfract {
namespace {

/// A canal that joins nearer to its orifice than this is worked that far all the same.
constexpr double least_worked_mm = 1.0;

/// Depth along `canal` where it is nearest to a point.
double depth_nearest_mm(const Canal& canal, const Vec3& point_P) {
    const auto nearest =
        std::min_element(canal.samples.begin(), canal.samples.end(),
                         [&](const CanalSample& a, const CanalSample& b) {
                             return (a.point_P - point_P).norm() < (b.point_P - point_P).norm();
                         });
    return nearest->depth_mm;
}

Vec3 point_at(const Canal& canal, double depth_mm) {
    const auto below = std::find_if(canal.samples.begin(), canal.samples.end(),
                                    [&](const CanalSample& s) { return s.depth_mm >= depth_mm; });
    return below == canal.samples.end() ? canal.samples.back().point_P : below->point_P;
}

/// Below a division by so much the two canals have parted enough to tell a side.
constexpr double parted_mm = 1.5;

/// Toward which side a canal divides off its parent; "" when they have not parted.
std::string side_of(const Canal& canal, const Canal& parent, const Tooth& tooth) {
    const Vec3 here = point_at(canal, canal.leaves->depth_mm + parted_mm);
    const Vec3 there = point_at(parent, depth_nearest_mm(parent, here));
    if ((here - there).norm() < 0.2) return "";
    const ClinicalFrame frame =
        clinical_frame(tooth.fdi, canal.samples.back().point_P - canal.samples.front().point_P);
    return direction_name(frame, here - there);
}

void write_division(CanalCase& canal, const Tooth& tooth) {
    const auto& leaves = canal.canal.leaves;
    const Canal* const parent = leaves ? tooth.find(leaves->canal) : nullptr;
    if (!parent) return;
    const std::string side = side_of(canal.canal, *parent, tooth);
    canal.plan.notes.push_back(
        "Divides off " + leaves->canal + " at " + mm_text(leaves->depth_mm) +
        (side.empty() ? "" : ", toward " + side) +
        ": feel for the division with a small file bent at its tip. What is shaped above it for " +
        leaves->canal + " serves this canal too and is not reckoned with here.");
}

}  // namespace

std::optional<Branching> end_at_join(const Canal& canal, double short_of_foramen_mm) {
    if (!canal.joins || canal.samples.empty()) return std::nullopt;
    const double orifice = canal.samples.front().depth_mm;
    const double deepest = canal.depth_to_foramen_mm - short_of_foramen_mm;
    const double join = std::max(canal.joins->depth_mm, orifice + least_worked_mm);
    // A join within what is left of the foramen in any case is none to stop at.
    if (join >= deepest) return std::nullopt;
    return Branching{canal.joins->canal, join};
}

void write_joins(CanalCase& canal, const Tooth& tooth) {
    write_division(canal, tooth);
    if (const auto& join = canal.plan.ends_at_join) {
        canal.plan.notes.push_back(
            "Shape and measure " + join->canal +
            " first, to its working depth. Then put its cone "
            "or a file in it and a small file in " +
            canal.plan.canal +
            ": where the two touch is the join. Rinse both in turn: what is rinsed in one shows in "
            "the other.");
    }
    for (const Canal& other : tooth.canals) {
        const auto join = end_at_join(other, canal.options.short_of_foramen_mm);
        if (!join || join->canal != canal.plan.canal) continue;
        canal.plan.notes.push_back(
            other.name + " joins at about " +
            mm_text(depth_nearest_mm(canal.canal, point_at(other, join->depth_mm))) +
            ": this canal is shaped first and to its working depth, " + other.name +
            " to the join only. The cone of this canal goes in first, past the join.");
    }
}

}  // namespace anfract
