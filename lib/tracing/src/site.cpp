#include "site.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "anfract/base/parallel.h"
#include "field.h"
#include "outer_surface.h"
#include "ridge.h"
#include "tooth_axis.h"

namespace anfract::tracing {
namespace {

constexpr double reach_across_mm = 11;
constexpr double reach_along_mm = 21;
constexpr double movement_half_mm = 7;  ///< of the cube whose edges are looked at for it
constexpr double neck_mm = 0.7;         ///< bridges to bone narrower than this are cut
/// Of the contrast: hard, and surely hard. Where the blur is wide the ligament between root and
/// bone is brighter than half of it.
constexpr double hard_share = 0.5, sure_share = 0.7;
constexpr double sure_neck_mm =
    0.5;                           ///< fewer bridges are left, and the walls of root ends thinner
constexpr double margin_mm = 1.0;  ///< of what is looked at about the tooth
constexpr double least_depth_mm = 0.2;  ///< of the click below the surface
constexpr double bridge_mm = 1.3;  ///< canals narrower than this are closed over at the surface

tl::unexpected<Error> no_tooth(const std::string& what) {
    return fail(ErrorCode::BadInput, what, "the point",
                "give a point in the pulp chamber or the middle of the crown");
}

tl::unexpected<Error> stopped() { return fail(ErrorCode::Cancelled, "stopped"); }

/// Whether the body is of the grey that was read round the click: from a point beside the tooth air
/// and gum are taken for pulp and dentine, and the body is all that is brighter.
bool made_of_dentine(const Site& site) {
    constexpr double below_surface_mm = 0.4, most_of_contrast = 0.3;
    // Metal stands at the end of the scale; under a crown it may be most of what is seen.
    const float greatest = *std::max_element(site.brick.grey.begin(), site.brick.grey.end());
    std::vector<float> greys;
    for (std::size_t n = 0; n < site.brick.grey.size(); ++n) {
        const float grey = site.brick.grey[n];
        if (site.body.depth.grey[n] > below_surface_mm && grey > site.levels.middle() &&
            grey < greatest)
            greys.push_back(grey);
    }
    const double contrast = site.levels.dentine - site.levels.pulp;
    return quantile(greys, 0.5) < site.levels.dentine + most_of_contrast * contrast;
}

/// Whether the body may be more than a tooth: larger than any, or hanging on jaw, gum or neighbours
/// all round while the point lies close under its surface. A tooth that leaks into bone hangs on it
/// too, but a point in its chamber lies deep.
bool more_than_a_tooth(const Mask& hard, const GridGeometry& g, double depth_mm) {
    constexpr double largest_mm3 = 2000;  // molars take some 1000, from memory
    constexpr double touch_mm2 = 2, deep_mm = 1.5;
    constexpr std::ptrdiff_t most_sides = 2;
    std::array<double, 6> side_mm2{};
    double volume_mm3 = 0;
    std::size_t n = 0;
    for (int k = 0; k < g.size[2]; ++k) {
        for (int j = 0; j < g.size[1]; ++j) {
            for (int i = 0; i < g.size[0]; ++i, ++n) {
                if (hard[n] == 0) continue;
                volume_mm3 += g.spacing_mm.prod();
                const std::array<int, 3> at{i, j, k};
                for (std::size_t a = 0; a < 3; ++a) {
                    const double face_mm2 = g.spacing_mm.prod() / g.spacing_mm[int(a)];
                    if (at[a] == 0) side_mm2[2 * a] += face_mm2;
                    if (at[a] + 1 == g.size[a]) side_mm2[2 * a + 1] += face_mm2;
                }
            }
        }
    }
    const auto sides = std::count_if(side_mm2.begin(), side_mm2.end(),
                                     [](double area_mm2) { return area_mm2 > touch_mm2; });
    return volume_mm3 > largest_mm3 || (sides > most_sides && depth_mm < deep_mm);
}

struct Kept {
    Mask mask;
    GridGeometry geometry;
};

/// The hard tissue round the click less what of bone and neighbours hangs on it: the tooth's outer
/// surface is sought about what is surely hard.
Kept kept_within_its_surface(const Volume& volume, const Kept& hard, const Mask& sure,
                             const GreyLevels& levels, unsigned threads) {
    const Box box = box_of(sure, hard.geometry, margin_mm);
    const Brick brick = crop(volume, box.centre_P, box.half_mm);
    const GridGeometry& g = brick.geometry;
    const Brick outer =
        outer_surface(brick, cropped(sure, hard.geometry, g), levels, bridge_mm, threads);
    return {without_leaks(cropped(hard.mask, hard.geometry, g), g, outer, threads), g};
}

/// Levels, solid and crop.
Result<Site> find_tooth(const Volume& volume, const TraceRequest& request,
                        const Progress& progress) {
    if (!volume.geometry.contains(request.inside_P))
        return no_tooth("the point lies outside the scan");
    Site site;
    site.threads = request.threads;
    const Brick near = crop(volume, request.inside_P, Vec3(9, 9, 9));
    Result<GreyLevels> levels = read_levels(near, request.inside_P, request.threads);
    if (!levels) return tl::unexpected(levels.error());
    site.levels = *levels;
    if (progress.cancelled()) return stopped();

    progress.report(0.1, "finding the tooth");
    const Brick wide =
        crop(volume, request.inside_P, Vec3(reach_across_mm, reach_across_mm, reach_along_mm));
    Result<Mask> hard, sure;
    Result<Movement> movement;
    const auto sought = [&](double neck, double share) {
        return find_hard_tooth(wide, site.levels, request.inside_P, neck, share, request.threads);
    };
    side_by_side(request.threads,
                 {[&] { hard = sought(neck_mm, hard_share); },
                  [&] { sure = sought(sure_neck_mm, sure_share); },
                  [&] {
                      movement = find_movement(
                          crop(volume, request.inside_P, Vec3::Constant(movement_half_mm)),
                          request.threads);
                  }});
    if (movement) site.movement = *movement;
    if (!hard) return tl::unexpected(hard.error());
    if (progress.cancelled()) return stopped();
    Kept kept{*hard, wide.geometry};
    if (sure) kept = kept_within_its_surface(volume, kept, *sure, site.levels, request.threads);
    const Box box = box_of(kept.mask, kept.geometry, margin_mm);
    site.brick = crop(volume, box.centre_P, box.half_mm);
    constexpr double worth_telling_mm3 = 2;
    const auto left_out = std::count(hard->begin(), hard->end(), 1) -
                          std::count(kept.mask.begin(), kept.mask.end(), 1);
    site.runs_into_bone = double(left_out) * volume.geometry.spacing_mm.prod() > worth_telling_mm3;
    const Mask own = cropped(kept.mask, kept.geometry, site.brick.geometry);
    site.body = solid_tooth(own, site.brick.geometry, bridge_mm, request.threads);
    const double depth_mm = site.depth_mm(request.inside_P);
    bool dentine = false, more = false;
    side_by_side(request.threads,
                 {[&] { dentine = made_of_dentine(site); },
                  [&] { more = more_than_a_tooth(*hard, wide.geometry, depth_mm); }});
    if (depth_mm < least_depth_mm || !dentine || more)
        return no_tooth("the point does not lie in a tooth");
    return site;
}

/// Crown and root, and where canals may begin and run.
void look_where_canals_run(const TraceRequest& request, Site& site) {
    const GridGeometry& g = site.brick.geometry;
    site.coronal_P =
        coronal_axis(site.brick, site.body, site.levels, request.fdi, request.inside_P);
    site.calm = smooth(site.brick, 0.6 * g.spacing_mm.maxCoeff(), request.threads);
    site.open = apical_part(g, site.pulp, site.coronal_P, request.inside_P);
    for (std::size_t n = 0; n < site.pulp.chamber.size(); ++n) {
        if (site.pulp.chamber[n] != 0) site.chamber_voxels.push_back(n);
    }
}

}  // namespace

CanalSearch Site::search() const {
    return {calm, body, pulp, evidence, levels, open, coronal_P, chamber_voxels, threads};
}

std::size_t Site::voxel_at(const Vec3& point_P) const {
    return nearest_voxel(brick.geometry, point_P);
}

double Site::depth_mm(const Vec3& point_P) const {
    return interpolate(body.depth, body.depth.geometry.to_voxel(point_P));
}

Result<Site> look_round(const Volume& volume, const TraceRequest& request,
                        const Progress& progress) {
    progress.report(0.02, "reading grey levels");
    Result<Site> found = find_tooth(volume, request, progress);
    if (!found) return found;
    Site& site = *found;
    if (progress.cancelled()) return stopped();
    progress.report(0.3, "finding the pulp chamber");
    site.pulp = find_pulp(site.brick, site.body, site.levels, request.inside_P, request.threads);
    site.levels.pulp = site.pulp.pulp_grey;
    if (progress.cancelled()) return stopped();
    progress.report(0.4, "weighing evidence");
    side_by_side(request.threads, {[&] {
                                       site.evidence =
                                           tube_evidence(site.brick, site.body, site.pulp,
                                                         site.levels, request.threads, progress);
                                   },
                                   [&] { look_where_canals_run(request, site); }});
    if (progress.cancelled()) return stopped();
    site.scan = ScanFacts{volume.series_uid, volume.geometry.spacing_mm, site.levels.noise,
                          site.levels.sigma_psf_mm * 2 * std::sqrt(2 * std::numbers::ln2)};
    site.invented = volume.invented;
    return found;
}

}  // namespace anfract::tracing
