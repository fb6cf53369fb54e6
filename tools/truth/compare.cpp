#include "compare.h"

#include <algorithm>
#include <cmath>

#include "anfract/geometry/polyline.h"
#include "anfract/tooth/canal_system.h"
#include "anfract/tooth/sampled_line.h"
#include "matching.h"

namespace anfract::truth {
namespace {

constexpr double same_canal_mm = 0.5;  ///< rms distance above which two lines are not one canal
/// Of a canal, that does not count for this: where a chamber narrows like a funnel its border, and
/// so the beginning of the line, is a convention.
constexpr double head_share = 1.0 / 3;

/// Whether a point lies in the scan, that far from its border.
bool seen(const Vec3& point_P, const GridGeometry& grid, double inward_mm = 0) {
    const Vec3 v = grid.to_voxel(point_P);
    for (int a = 0; a < 3; ++a) {
        const double inward = std::min(v[a], grid.size[std::size_t(a)] - 1 - v[a]);
        if (inward * grid.spacing_mm[a] < inward_mm) return false;
    }
    return true;
}

/// Of the part of a canal in the scan, but for that share of it at its beginning.
double rms_distance(const Canal& of, const Polyline& from, const GridGeometry& grid,
                    double left_out_share) {
    double sum = 0, count = 0;
    const double head_mm = of.samples.front().depth_mm + left_out_share * of.length_mm;
    for (const CanalSample& sample : of.samples) {
        if (sample.depth_mm < head_mm || !seen(sample.point_P, grid)) continue;
        const double d = from.nearest(sample.point_P).distance_mm;
        sum += d * d;
        count += 1;
    }
    return count > 0 ? std::sqrt(sum / count) : 1e9;
}

const CanalSample& nearest_sample(const Canal& canal, const Vec3& point_P) {
    return *std::min_element(canal.samples.begin(), canal.samples.end(),
                             [&](const CanalSample& a, const CanalSample& b) {
                                 return (a.point_P - point_P).norm() < (b.point_P - point_P).norm();
                             });
}

/// Two true canals that approach run into one lumen before their centrelines meet: the width of one
/// alone means nothing there. Where they share a centreline they are one canal, whose width does.
bool in_common_lumen(const Canal& canal, const CanalSample& sample, const Tooth& truth) {
    for (const Canal& other : truth.canals) {
        if (other.name == canal.name) continue;
        const CanalSample& there = nearest_sample(other, sample.point_P);
        const double apart = (there.point_P - sample.point_P).norm();
        const bool shared = apart < 0.06 && std::abs(sample.diameter_mm - there.diameter_mm) < 0.01;
        if (!shared && apart < (sample.diameter_long_mm + there.diameter_long_mm) / 2) return true;
    }
    return false;
}

/// A curvature that the truth does not have, where the traced canal leaves the chamber.
double false_bend_per_mm(const Canal& traced, const Canal& truth) {
    constexpr double head_mm = 2;
    double worst = 0;
    for (const CanalSample& sample : traced.samples) {
        if (sample.depth_mm > traced.samples.front().depth_mm + head_mm) break;
        const CanalSample& there = nearest_sample(truth, sample.point_P);
        worst = std::max(worst, sample.curvature_per_mm - there.curvature_per_mm);
    }
    return worst;
}

/// The root whose canals come nearest to a traced canal.
std::size_t root_of(const Canal& traced, const Phantom& phantom, const std::vector<Root>& roots) {
    const Tooth& truth = phantom.truth;
    std::size_t nearest = 0;
    double least = 1e9;
    for (std::size_t r = 0; r < roots.size(); ++r) {
        for (const std::string& name : roots[r].canals) {
            const double rms = rms_distance(traced, sampled_line(*truth.find(name)),
                                            phantom.volume.geometry, head_share);
            if (rms >= least) continue;
            least = rms;
            nearest = r;
        }
    }
    return nearest;
}

CanalError canal_error(const Canal& canal, const Canal* traced, const Phantom& phantom) {
    const Tooth& truth = phantom.truth;
    const GridGeometry& grid = phantom.volume.geometry;
    CanalError error;
    error.name = canal.name;
    error.least_width_mm = 1e9;
    for (const CanalSample& sample : canal.samples) {
        if (sample.depth_mm > canal.depth_to_foramen_mm - 1) continue;
        error.least_width_mm = std::min(error.least_width_mm, sample.diameter_mm);
    }
    error.cut = !seen(canal.foramen_P, grid);
    if (traced == nullptr) return error;
    error.traced_name = traced->name;
    error.presence = traced->presence.value_or(-1);
    const Polyline line = sampled_line(*traced);
    error.orifice_mm = (traced->orifice_P - canal.orifice_P).norm();
    error.foramen_mm = (traced->foramen_P - canal.foramen_P).norm();
    error.depth_mm = traced->depth_to_foramen_mm - canal.depth_to_foramen_mm;
    error.depth_sd_mm = traced->depth_sd_mm.value_or(0);
    error.false_bend_per_mm = false_bend_per_mm(*traced, canal);
    constexpr double width_every_mm = 0.5;
    double next_width_mm = 0;
    double count = 0, line_count = 0;
    for (const CanalSample& sample : canal.samples) {
        if (!seen(sample.point_P, grid)) continue;
        const Polyline::Nearest at = line.nearest(sample.point_P);
        if (at.s_mm <= 0) continue;  // coronal of where the traced canal begins
        error.line_max_mm = std::max(error.line_max_mm, at.distance_mm);
        error.line_rms_mm += at.distance_mm * at.distance_mm;
        line_count += 1;
        const double from_start = sample.depth_mm - canal.samples.front().depth_mm;
        // The last 0.3 mm at either end are chamber or ligament as much as canal.
        if (from_start < 0.3 || sample.depth_mm > canal.depth_to_foramen_mm - 0.3) continue;
        if (in_common_lumen(canal, sample, truth) || phantom.beside_isthmus(sample.point_P))
            continue;
        const CanalSample& there = nearest_sample(*traced, sample.point_P);
        const double relative = there.diameter_mm / sample.diameter_mm - 1;
        error.width_rms += relative * relative;
        error.width_mean += relative;
        const double z =
            (there.diameter_mm - sample.diameter_mm) / std::max(there.diameter_sd_mm, 1e-3);
        error.width_z_rms += z * z;
        if (from_start >= next_width_mm) {
            error.widths.push_back({sample.diameter_mm, there.diameter_mm, there.diameter_sd_mm});
            next_width_mm = from_start + width_every_mm;
        }
        const double wall = there.wall_min_mm.value_or(0) - sample.wall_min_mm.value_or(0);
        error.wall_rms_mm += wall * wall;
        count += 1;
    }
    if (line_count > 0) error.line_rms_mm = std::sqrt(error.line_rms_mm / line_count);
    if (count == 0) return error;
    error.width_rms = std::sqrt(error.width_rms / count);
    error.width_mean /= count;
    error.width_z_rms = std::sqrt(error.width_z_rms / count);
    error.wall_rms_mm = std::sqrt(error.wall_rms_mm / count);
    return error;
}

/// The traced canal that is each true one, -1 for none. Canals that share their apical part are
/// alike there: which is whose shows over the whole of them.
std::vector<int> matched_canals(const Tooth& traced, const Phantom& phantom) {
    const GridGeometry& grid = phantom.volume.geometry;
    std::vector<std::vector<double>> cost;
    for (const Canal& canal : phantom.truth.canals) {
        cost.emplace_back();
        for (const Canal& candidate : traced.canals) {
            const auto apart = [&](double left_out_share) {
                return std::max(
                    rms_distance(canal, sampled_line(candidate), grid, left_out_share),
                    0.5 * rms_distance(candidate, sampled_line(canal), grid, left_out_share));
            };
            const double whole = apart(0);
            cost.back().push_back(apart(head_share) < same_canal_mm ? whole * whole : never);
        }
    }
    return best_matching(cost);
}

}  // namespace

ToothError compare(const Tooth& traced, const Phantom& phantom) {
    ToothError result;
    const std::vector<int> matched = matched_canals(traced, phantom);
    std::vector<bool> used(traced.canals.size(), false);
    for (std::size_t t = 0; t < matched.size(); ++t) {
        const int n = matched[t];
        if (n >= 0) used[std::size_t(n)] = true;
        result.canals.push_back(canal_error(
            phantom.truth.canals[t], n < 0 ? nullptr : &traced.canals[std::size_t(n)], phantom));
    }
    compare_curves(traced, phantom.truth, result.canals);
    const std::vector<Root> roots = roots_of(phantom.truth);
    for (const Root& root : roots) result.roots.push_back({root.label, int(root.canals.size())});
    for (std::size_t n = 0; n < used.size(); ++n) {
        if (used[n]) continue;
        const Canal& canal = traced.canals[n];
        result.invented.push_back(
            {canal.name, canal.presence.value_or(1), root_of(canal, phantom, roots)});
    }
    if (traced.surface && !traced.surface->vertices_P.empty()) {
        constexpr double border_mm = 0.8;
        double sum = 0, far = 0, count = 0;
        for (const Vec3& vertex : traced.surface->vertices_P) {
            // Where the scan cuts the tooth its surface is the scan's border.
            if (!seen(vertex, phantom.volume.geometry, border_mm)) continue;
            const double d = phantom.tooth_distance_mm(vertex);
            sum += d * d;
            far += std::abs(d) > ToothError::far_mm ? 1 : 0;
            count += 1;
        }
        result.surface_rms_mm = std::sqrt(sum / std::max(count, 1.0));
        result.surface_far_share = far / std::max(count, 1.0);
    }
    return result;
}

}  // namespace anfract::truth
