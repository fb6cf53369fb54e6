#include <algorithm>

#include "anfract/tooth/measure_deviations.h"
#include "compare.h"

namespace anfract::truth {
namespace {

const CanalMeasures* of(const ToothMeasures& measures, const std::string& canal) {
    const auto found = std::find_if(measures.canals.begin(), measures.canals.end(),
                                    [&](const CanalMeasures& m) { return m.canal == canal; });
    return found == measures.canals.end() ? nullptr : &*found;
}

void add_view(const ViewMeasures& traced, const ViewMeasures& truth, CurveFigures& figures) {
    if (!traced.sd) return;
    figures.schneider_deg.push_back(
        {truth.schneider_deg, traced.schneider_deg, traced.sd->schneider_deg});
    if (traced.arc_radius_mm && truth.arc_radius_mm) {
        figures.arc_radius_mm.push_back(
            {*truth.arc_radius_mm, *traced.arc_radius_mm, *traced.sd->arc_radius_mm});
    }
}

/// The true bend that shares most of its depth with a traced one.
void add_bend(const Bend& traced, const std::vector<Bend>& truth, CurveFigures& figures) {
    if (!traced.sd) return;
    const Bend* same = nullptr;
    double most = 0;
    for (const Bend& bend : truth) {
        const double shared =
            std::min(bend.to_mm, traced.to_mm) - std::max(bend.from_mm, traced.from_mm);
        if (shared <= most) continue;
        most = shared;
        same = &bend;
    }
    figures.bend_deg.push_back(
        {same ? same->angle_deg : 0.0, traced.angle_deg, traced.sd->angle_deg});
    if (same)
        figures.bend_radius_mm.push_back({same->radius_mm, traced.radius_mm, traced.sd->radius_mm});
}

}  // namespace

void compare_curves(const Tooth& traced, const Tooth& truth, std::vector<CanalError>& canals) {
    Result<ToothMeasures> stated = measure(traced);
    const Result<ToothMeasures> real = measure(truth);
    if (!stated || !real) return;
    add_deviations(traced, *stated);
    for (CanalError& canal : canals) {
        if (!canal.found() || canal.cut) continue;
        const CanalMeasures* ours = of(*stated, canal.traced_name);
        const CanalMeasures* theirs = of(*real, canal.name);
        if (ours == nullptr || theirs == nullptr) continue;
        add_view(ours->clinical, theirs->clinical, canal.curve);
        add_view(ours->across, theirs->across, canal.curve);
        add_view(ours->worst, theirs->worst, canal.curve);
        for (const Bend& bend : ours->bends) add_bend(bend, theirs->bends, canal.curve);
    }
}

}  // namespace anfract::truth
