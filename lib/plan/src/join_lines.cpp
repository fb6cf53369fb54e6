#include "join_lines.h"

#include <algorithm>

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
            " to the join only. Its cone goes in first, past the join.");
    }
}

}  // namespace anfract
