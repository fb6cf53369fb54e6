#include "trace_steps.h"

#include <utility>

#include "anfract/base/parallel.h"
#include "anfract/tooth/tooth_number.h"
#include "by_hand.h"
#include "fit_tooth.h"
#include "possible.h"
#include "waist.h"
#include "write_up.h"

namespace anfract::tracing {

Result<Site> prepare(const Volume& volume, const TraceRequest& request, const Progress& progress) {
    if (!request.fdi.empty()) {
        const Result<ToothNumber> number = tooth_number_from_fdi(request.fdi);
        if (!number) return tl::unexpected(number.error());
    }
    constexpr double farthest_mm = 60;  // longer than any tooth
    if (request.reference_P && volume.geometry.contains(request.inside_P) &&
        !((*request.reference_P - request.inside_P).norm() < farthest_mm)) {
        return fail(ErrorCode::BadInput, "the reference point lies far from the tooth",
                    "the reference", "give a point on its crown");
    }
    return look_round(volume, request, progress);
}

Result<std::vector<TracedCanal>> canals_of(const Site& site, const TraceRequest& request,
                                           const Progress& progress,
                                           std::vector<CanalPath>& possible) {
    progress.report(0.6, "following canals");
    std::vector<TracedCanal> traced;
    FoundCanals found = find_canals(site.search(), progress);
    possible = std::move(found.possible);
    for (CanalPath& path : found.canals) {
        TracedCanal canal;
        canal.presence = presence_of(path);
        canal.path = std::move(path);
        traced.push_back(std::move(canal));
    }
    for (const HandCanal& hand : request.by_hand) {
        const Result<std::size_t> added = add_by_hand(hand, site, progress, traced);
        if (!added) return tl::unexpected(added.error());
    }
    if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped");
    if (traced.empty()) {
        return fail(ErrorCode::NotFound, "no canal is to be seen in this tooth", "the point",
                    "give the point in the pulp chamber, or a canal's two ends");
    }
    progress.report(0.75, "fitting canals");
    fit_all(site, traced);
    if (part_waists(site, traced)) fit_all(site, traced);
    if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped");
    return traced;
}

Tooth whole_tooth(const Site& site, const TraceRequest& request,
                  const std::vector<TracedCanal>& canals, const std::vector<CanalPath>& possible,
                  const Progress& progress) {
    progress.report(0.9, "measuring walls");
    const ToothBody closed = closed_body(site, canals);
    Tooth tooth;
    Surface surface, chamber;
    side_by_side(request.threads, {[&] { surface = tooth_surface(closed, request.threads); },
                                   [&] { chamber = chamber_surface(site, request.threads); },
                                   [&] {
                                       tooth = write_up(request, site, closed, canals, {});
                                       add_possible(site, possible, tooth);
                                       add_findings(request, site, canals, tooth);
                                   }});
    tooth.surface = std::move(surface);
    tooth.chamber = std::move(chamber);
    return tooth;
}

}  // namespace anfract::tracing
