#include "write_up.h"

#include <algorithm>
#include <cmath>

#include "anfract/tooth/clinical_frame.h"
#include "distance.h"
#include "field.h"
#include "findings.h"
#include "isthmus_range.h"
#include "naming.h"
#include "surface_mesh.h"

namespace anfract::tracing {
namespace {

Vec3 highest_point(const Site& site, const ToothBody& body) {
    const GridGeometry& g = site.brick.geometry;
    double top = -1e9;
    Vec3 highest = site.brick.geometry.origin_P;
    std::size_t n = 0;
    for (int k = 0; k < g.size[2]; ++k) {
        for (int j = 0; j < g.size[1]; ++j) {
            for (int i = 0; i < g.size[0]; ++i, ++n) {
                if (body.solid[n] == 0) continue;
                const Vec3 p = g.to_patient(Vec3(i, j, k));
                if (p.dot(site.coronal_P) <= top) continue;
                top = p.dot(site.coronal_P);
                highest = p;
            }
        }
    }
    return highest;
}

/// A box has the standard deviation of its edge over sqrt(12): what was measured as less is no
/// point spread.
bool narrower_than_a_voxel(const Site& site) {
    const double edge_mm = std::cbrt(site.brick.geometry.spacing_mm.prod());
    return site.levels.sigma_psf_mm < edge_mm / std::sqrt(12.0);
}

/// The brick has a margin round the tooth save where the scan ends.
bool reaches_border(const Mask& solid, const GridGeometry& g) {
    std::size_t n = 0;
    for (int k = 0; k < g.size[2]; ++k) {
        for (int j = 0; j < g.size[1]; ++j) {
            for (int i = 0; i < g.size[0]; ++i, ++n) {
                const bool border = i == 0 || j == 0 || k == 0 || i == g.size[0] - 1 ||
                                    j == g.size[1] - 1 || k == g.size[2] - 1;
                if (border && solid[n] != 0) return true;
            }
        }
    }
    return false;
}

std::vector<std::string> names_by_place(const std::string& fdi, const Vec3& coronal_P,
                                        const std::vector<TracedCanal>& traced,
                                        const std::vector<WholeCanal>& whole) {
    std::vector<CanalPlace> places;
    const ClinicalFrame frame = clinical_frame(fdi, -coronal_P);
    Vec3 middle{0, 0, 0};
    for (const WholeCanal& canal : whole) {
        middle += canal.sections.front().station.point_P / double(whole.size());
    }
    for (std::size_t n = 0; n < whole.size(); ++n) {
        const WholeCanal& canal = whole[n];
        const int parent = traced[n].path.leaves;
        if (parent >= 0 && traced[n].path.joins < 0) {
            // Two ways of one orifice are told apart by where they open.
            const Vec3 apart = canal.sections.back().station.point_P -
                               whole[std::size_t(parent)].sections.back().station.point_P;
            places.push_back({places[std::size_t(parent)].mm +
                                  Vec2(apart.dot(frame.mesial), apart.dot(frame.buccal)),
                              true});
            continue;
        }
        const std::size_t at = (canal.own_from + canal.own_to) / 2;
        // Between the orifice and the middle of its own part: roots may lean across each other
        // further down.
        const Vec3 p =
            (canal.sections[at].station.point_P + canal.sections[canal.own_from].station.point_P) /
                2 -
            middle;
        places.push_back({Vec2(p.dot(frame.mesial), p.dot(frame.buccal)), parent >= 0});
    }
    return canal_names(fdi, places);
}

/// Names for the canals that have none yet; one that is taken gets a number.
void name_the_rest(const std::vector<std::string>& by_place, std::vector<std::string>& names) {
    for (std::size_t n = names.size(); n < by_place.size(); ++n) {
        std::string name = by_place[n];
        for (int again = 2; std::count(names.begin(), names.end(), name) > 0; ++again) {
            name = by_place[n] + std::to_string(again);
        }
        names.push_back(std::move(name));
    }
}

void add_branchings(const std::vector<TracedCanal>& traced, const std::vector<WholeCanal>& whole,
                    Tooth& tooth) {
    for (std::size_t n = 0; n < traced.size(); ++n) {
        Canal& canal = tooth.canals[n];
        const auto depth_at = [&](std::size_t section) {
            return canal.samples[std::min(section, canal.samples.size() - 1)].depth_mm;
        };
        if (traced[n].path.joins >= 0) {
            canal.joins = Branching{tooth.canals[std::size_t(traced[n].path.joins)].name,
                                    depth_at(whole[n].own_to - 1)};
        }
        if (traced[n].path.leaves >= 0) {
            canal.leaves = Branching{tooth.canals[std::size_t(traced[n].path.leaves)].name,
                                     depth_at(whole[n].own_from)};
        }
    }
}

double depth_near(const Canal& canal, const Vec3& point_P) {
    return std::min_element(canal.samples.begin(), canal.samples.end(),
                            [&](const CanalSample& a, const CanalSample& b) {
                                return (a.point_P - point_P).squaredNorm() <
                                       (b.point_P - point_P).squaredNorm();
                            })
        ->depth_mm;
}

}  // namespace

ToothBody closed_body(const Site& site, const std::vector<TracedCanal>& traced) {
    ToothBody body = site.body;
    for (const TracedCanal& canal : traced) {
        if (canal.fit.mouth) close_mouth(*canal.fit.mouth, body);
    }
    return body;
}

Tooth write_up(const TraceRequest& request, const Site& site, const ToothBody& closed,
               const std::vector<TracedCanal>& traced, std::vector<std::string> names) {
    const std::vector<WholeCanal> whole = whole_canals(traced);
    Tooth tooth;
    tooth.fdi = request.fdi;
    tooth.invented = site.invented;
    tooth.reference_P = request.reference_P ? *request.reference_P : highest_point(site, site.body);
    tooth.scan = site.scan;
    for (std::size_t n = 0; n < traced.size(); ++n) {
        tooth.canals.push_back(to_canal(whole[n], traced[n], tooth.reference_P, closed.depth));
    }
    name_the_rest(names_by_place(request.fdi, site.coronal_P, traced, whole), names);
    for (std::size_t n = 0; n < traced.size(); ++n) tooth.canals[n].name = names[n];
    add_branchings(traced, whole, tooth);
    return tooth;
}

void add_findings(const TraceRequest& request, const Site& site,
                  const std::vector<TracedCanal>& traced, Tooth& tooth) {
    TraceFacts facts{least_visible_width_mm(site.levels),
                     reaches_border(site.body.solid, site.brick.geometry),
                     site.runs_into_bone,
                     narrower_than_a_voxel(site),
                     request.reference_P.has_value(),
                     {},
                     {},
                     site.movement,
                     {}};
    if (site.movement && site.movement->stands_double())
        facts.second_images = doubt_second_images(site.movement->shift_P, tooth);
    for (const IsthmusRange& range : isthmus_ranges(site, traced)) {
        const Canal& first = tooth.canals[range.first];
        facts.isthmuses.push_back({first.name, tooth.canals[range.second].name,
                                   depth_near(first, range.from_P), depth_near(first, range.to_P),
                                   range.thickness_mm});
    }
    for (const TracedCanal& canal : traced) facts.unseen_mm.push_back(canal.path.unseen_mm);
    tooth.findings = findings_of(tooth, facts);
}

Surface tooth_surface(const ToothBody& closed, unsigned threads) {
    return zero_surface(smooth(closed.depth, 0.15, threads), 0.45);
}

Surface chamber_surface(const Site& site, unsigned threads) {
    const Brick chamber = signed_distance(site.pulp.chamber, site.brick.geometry, threads);
    return zero_surface(smooth(chamber, 0.12, threads), 0.25);
}

}  // namespace anfract::tracing
