#include "anfract/tracing/trace.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "anfract/tooth/clinical_frame.h"
#include "anfract/tooth/tooth_number.h"
#include "assemble.h"
#include "chamber.h"
#include "evidence.h"
#include "findings.h"
#include "levels.h"
#include "mouth.h"
#include "naming.h"
#include "parting.h"
#include "surface_mesh.h"
#include "tooth_axis.h"
#include "tooth_mask.h"

namespace anfract {
namespace {

using namespace tracing;

constexpr double reach_across_mm = 11;
constexpr double reach_along_mm = 21;
constexpr double neck_mm = 0.7;    ///< bridges to bone narrower than this are cut
constexpr double bridge_mm = 1.3;  ///< canals narrower than this are closed over at the surface

tl::unexpected<Error> no_tooth(const std::string& what) {
    return fail(ErrorCode::BadInput, what, "--inside",
                "give a point in the pulp chamber or the middle of the crown");
}

/// The scan round the tooth, its tissues and its solid.
struct Site {
    Brick brick;
    GreyLevels levels;
    ToothBody body;
    PulpSpace pulp;
    Vec3 coronal_P{0, 0, 1};  ///< from the roots to the crown
};

Result<Site> look_round(const Volume& volume, const TraceRequest& request,
                        const Progress& progress) {
    if (!volume.geometry.contains(request.inside_P))
        return no_tooth("the point lies outside the scan");
    Site site;
    const Brick near = crop(volume, request.inside_P, Vec3(9, 9, 9));
    Result<GreyLevels> levels = read_levels(near, request.inside_P, request.threads);
    if (!levels) return tl::unexpected(levels.error());
    site.levels = *levels;
    if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped");

    progress.report(0.1, "finding the tooth");
    const Brick wide =
        crop(volume, request.inside_P, Vec3(reach_across_mm, reach_across_mm, reach_along_mm));
    const Result<Mask> hard =
        find_hard_tooth(wide, site.levels, request.inside_P, neck_mm, request.threads);
    if (!hard) return tl::unexpected(hard.error());
    if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped");
    const Box box = box_of(*hard, wide.geometry, 1.0);
    site.brick = crop(volume, box.centre_P, box.half_mm);
    const Mask own = cropped(*hard, wide.geometry, site.brick.geometry);
    site.body = solid_tooth(own, site.brick.geometry, bridge_mm, request.threads);
    const float depth =
        interpolate(site.body.depth, site.brick.geometry.to_voxel(request.inside_P));
    if (depth < -0.3F) return no_tooth("the point does not lie in a tooth");
    if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped");

    progress.report(0.3, "finding the pulp chamber");
    site.pulp = find_pulp(site.brick, site.body, site.levels, request.inside_P, request.threads);
    site.levels.pulp = site.pulp.pulp_grey;
    site.coronal_P =
        coronal_axis(site.brick, site.body, site.levels, request.fdi, request.inside_P);
    return site;
}

std::vector<std::size_t> chamber_voxels(const PulpSpace& pulp) {
    std::vector<std::size_t> voxels;
    for (std::size_t n = 0; n < pulp.chamber.size(); ++n) {
        if (pulp.chamber[n] != 0) voxels.push_back(n);
    }
    return voxels;
}

std::size_t voxel_at(const GridGeometry& g, const Vec3& point_P) {
    const Vec3 v = g.to_voxel(point_P);
    const auto index = [&](int a) {
        return std::clamp(static_cast<int>(std::lround(v[a])), 0, g.size[std::size_t(a)] - 1);
    };
    return g.index(index(0), index(1), index(2));
}

/// Chance that a canal is there, from the evidence gathered along it; calibrated on phantoms, see
/// the method page.
double presence_of(const CanalPath& path) {
    return 1 / (1 + std::exp(-(path.score_mm - 6.0) / 1.5));
}

/// Adds a canal between two points; one that was found there anyway gets the user's ends.
Result<void> add_by_hand(const HandCanal& hand, const CanalSearch& search, const Progress& progress,
                         std::vector<TracedCanal>& traced) {
    const GridGeometry& g = search.brick.geometry;
    CanalPath path =
        forced_canal(search, voxel_at(g, hand.orifice_P), voxel_at(g, hand.end_P), progress);
    if (path.voxels.size() < 5) {
        return fail(ErrorCode::BadInput, "the two points of the canal do not both lie in the tooth",
                    "--canal", "give an orifice and an end inside the tooth");
    }
    const std::vector<Vec3> points = smooth_line(path.voxels, g).points();
    for (TracedCanal& canal : traced) {
        const Polyline found = smooth_line(canal.path.voxels, g);
        const auto same = std::count_if(points.begin(), points.end(), [&](const Vec3& p) {
            return found.nearest(p).distance_mm < 0.35;
        });
        if (double(same) < 0.8 * double(points.size())) continue;
        // The user's ends hold.
        path.score_mm = canal.path.score_mm;
        canal.path = std::move(path);
        canal.by_hand = true;
        return {};
    }
    const double presence = presence_of(path);
    traced.push_back({std::move(path), {}, presence, true});
    return {};
}

/// Fits every canal, each with what the others explain taken out; those that run beside another
/// twice.
void fit_all(Site& site, std::vector<TracedCanal>& canals) {
    std::vector<FitInput> inputs;
    for (TracedCanal& canal : canals) {
        Polyline line = smooth_line(canal.path.voxels, site.brick.geometry);
        canal.fit = unfitted(line);
        inputs.push_back({site.brick,
                          site.body,
                          site.levels,
                          std::move(line),
                          {},
                          canal.path.joins < 0,
                          canal.path.leaves < 0 && !canal.by_hand});
    }
    const auto fit = [&](std::size_t n) {
        inputs[n].others.clear();
        for (std::size_t m = 0; m < canals.size(); ++m) {
            if (m != n) inputs[n].others.push_back(canals[m].fit.sections);
        }
        canals[n].fit = fit_canal(inputs[n]);
    };
    for (std::size_t n = 0; n < canals.size(); ++n) {
        CanalPath& path = canals[n].path;
        if (path.joins >= 0) {
            Parting parting =
                follow_beside(inputs[n], inputs[n].start, canals[std::size_t(path.joins)].fit);
            inputs[n].start = std::move(parting.line);
            if (parting.apart_to_end) path.joins = -1;
            inputs[n].ends_at_surface = path.joins < 0;
        }
        if (path.leaves >= 0) {
            FittedCanal parent = canals[std::size_t(path.leaves)].fit;
            parent = reversed(parent);
            const Parting parting = follow_beside(inputs[n], inputs[n].start.reversed(), parent);
            inputs[n].start = parting.line.reversed();
        }
        fit(n);
    }
    for (std::size_t n = 0; n < canals.size(); ++n) {
        inputs[n].start = line_of(canals[n].fit);
        const bool alone =
            std::none_of(canals.begin(), canals.end(), [&](const TracedCanal& other) {
                return other.path.joins == int(n) || other.path.leaves == int(n);
            });
        if (!alone || canals[n].path.joins >= 0 || canals[n].path.leaves >= 0) fit(n);
    }
    for (const TracedCanal& canal : canals) {
        if (canal.fit.mouth) close_mouth(*canal.fit.mouth, site.body);
    }
}

Vec3 highest_point(const Site& site, const Vec3& coronal_P) {
    const GridGeometry& g = site.brick.geometry;
    double top = -1e9;
    Vec3 highest = site.brick.geometry.origin_P;
    std::size_t n = 0;
    for (int k = 0; k < g.size[2]; ++k) {
        for (int j = 0; j < g.size[1]; ++j) {
            for (int i = 0; i < g.size[0]; ++i, ++n) {
                if (site.body.solid[n] == 0) continue;
                const Vec3 p = g.to_patient(Vec3(i, j, k));
                if (p.dot(coronal_P) <= top) continue;
                top = p.dot(coronal_P);
                highest = p;
            }
        }
    }
    return highest;
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

void name_all(const TraceRequest& request, const std::vector<WholeCanal>& whole,
              const Vec3& coronal_P, Tooth& tooth) {
    std::vector<Vec2> places;
    const ClinicalFrame frame = clinical_frame(request.fdi, -coronal_P);
    Vec3 middle{0, 0, 0};
    for (const WholeCanal& canal : whole) {
        middle += canal.sections.front().station.point_P / double(whole.size());
    }
    for (const WholeCanal& canal : whole) {
        const std::size_t at = (canal.own_from + canal.own_to) / 2;
        // Between the orifice and the middle of its own part: roots may lean across each other
        // further down.
        const Vec3 p =
            (canal.sections[at].station.point_P + canal.sections[canal.own_from].station.point_P) /
                2 -
            middle;
        places.emplace_back(p.dot(frame.mesial), p.dot(frame.buccal));
    }
    const std::vector<std::string> names = canal_names(request.fdi, places);
    for (std::size_t n = 0; n < names.size(); ++n) tooth.canals[n].name = names[n];
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

Tooth write_up(const Volume& volume, const TraceRequest& request, const Site& site,
               const std::vector<TracedCanal>& traced) {
    const std::vector<WholeCanal> whole = whole_canals(traced);
    Tooth tooth;
    tooth.fdi = request.fdi;
    tooth.invented = volume.invented;
    tooth.reference_P =
        request.reference_P ? *request.reference_P : highest_point(site, site.coronal_P);
    tooth.scan = ScanFacts{volume.series_uid, volume.geometry.spacing_mm, site.levels.noise,
                           site.levels.sigma_psf_mm * 2 * std::sqrt(2 * std::numbers::ln2)};
    for (std::size_t n = 0; n < traced.size(); ++n) {
        tooth.canals.push_back(to_canal(whole[n], traced[n], tooth.reference_P, site.body.depth));
    }
    name_all(request, whole, site.coronal_P, tooth);
    add_branchings(traced, whole, tooth);
    tooth.surface = zero_surface(smooth(site.body.depth, 0.15, request.threads), 0.45);
    const Brick chamber = signed_distance(site.pulp.chamber, site.brick.geometry, request.threads);
    tooth.chamber = zero_surface(smooth(chamber, 0.12, request.threads), 0.25);
    return tooth;
}

}  // namespace

Result<Tooth> trace(const Volume& volume, const TraceRequest& request, const Progress& progress) {
    if (!request.fdi.empty()) {
        const Result<ToothNumber> number = tooth_number_from_fdi(request.fdi);
        if (!number) return tl::unexpected(number.error());
    }
    progress.report(0.02, "reading grey levels");
    Result<Site> site = look_round(volume, request, progress);
    if (!site) return tl::unexpected(site.error());

    progress.report(0.4, "weighing evidence");
    const TubeEvidence evidence =
        tube_evidence(site->brick, site->body, site->pulp, site->levels, request.threads, progress);
    const Brick calm =
        smooth(site->brick, 0.6 * site->brick.geometry.spacing_mm.maxCoeff(), request.threads);
    const Mask open =
        apical_part(site->brick.geometry, site->pulp, site->coronal_P, request.inside_P);
    const CanalSearch search{calm,         site->body, site->pulp,      evidence,
                             site->levels, open,       site->coronal_P, chamber_voxels(site->pulp)};
    progress.report(0.6, "following canals");
    std::vector<TracedCanal> traced;
    for (CanalPath& path : find_canals(search, progress)) {
        const double presence = presence_of(path);
        traced.push_back({std::move(path), {}, presence, false});
    }
    for (const HandCanal& hand : request.by_hand) {
        const Result<void> added = add_by_hand(hand, search, progress, traced);
        if (!added) return tl::unexpected(added.error());
    }
    if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped");
    if (traced.empty()) {
        return fail(ErrorCode::NotFound, "no canal is to be seen in this tooth", "--inside",
                    "give the point in the pulp chamber, or a canal's two ends with --canal");
    }
    progress.report(0.75, "fitting canals");
    fit_all(*site, traced);
    if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped");
    progress.report(0.9, "measuring walls");
    Tooth tooth = write_up(volume, request, *site, traced);
    TraceFacts facts{least_visible_width_mm(site->levels),
                     reaches_border(site->body.solid, site->brick.geometry),
                     request.reference_P.has_value(),
                     {}};
    for (const TracedCanal& canal : traced) facts.unseen_mm.push_back(canal.path.unseen_mm);
    tooth.findings = findings_of(tooth, facts);
    progress.report(1, "done");
    return tooth;
}

}  // namespace anfract
