#include "chamber.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "anfract/base/parallel.h"
#include "components.h"
#include "distance.h"

namespace anfract::tracing {
namespace {

/// In a narrow chamber, as of a front tooth, canals are not much narrower than it: a larger ball
/// keeps it from reaching down into them.
constexpr double greatest_share = 0.8;
constexpr double canal_radius_mm = 0.5;

constexpr double search_mm = 6;     ///< a chamber lies no further from the click
constexpr double ball_share = 0.7;  ///< see find_pulp
constexpr double furthest_low_mm = 1;

/// The piece of `low` that has most voxels near the click, nearer ones counting more; 0 when there
/// is none.
int piece_at(const Components& pieces, const GridGeometry& g, const Vec3& click_P) {
    std::vector<double> weight(pieces.sizes.size() + 1, 0);
    std::size_t n = 0;
    for (int k = 0; k < g.size[2]; ++k) {
        for (int j = 0; j < g.size[1]; ++j) {
            for (int i = 0; i < g.size[0]; ++i, ++n) {
                if (pieces.label[n] == 0) continue;
                const double distance = (g.to_patient(Vec3(i, j, k)) - click_P).norm();
                if (distance > search_mm) continue;
                weight[std::size_t(pieces.label[n])] += std::exp(-distance * distance / 4);
            }
        }
    }
    const auto best = std::max_element(weight.begin(), weight.end());
    return *best > 0 ? static_cast<int>(best - weight.begin()) : 0;
}

double grey_deep_inside(const Brick& brick, const Mask& piece, const std::vector<float>& radius,
                        double clear_mm, double otherwise) {
    std::vector<float> greys;
    for (std::size_t n = 0; n < piece.size(); ++n) {
        if (piece[n] != 0 && radius[n] > clear_mm) greys.push_back(brick.grey[n]);
    }
    return greys.size() >= 40 ? quantile(greys, 0.5) : otherwise;
}

}  // namespace

PulpSpace find_pulp(const Brick& brick, const ToothBody& body, const GreyLevels& levels,
                    const Vec3& click_P, unsigned threads) {
    const GridGeometry& g = brick.geometry;
    const auto middle = static_cast<float>(levels.middle());
    PulpSpace pulp;
    pulp.low.resize(brick.grey.size());
    Mask not_low(brick.grey.size());
    for (std::size_t n = 0; n < pulp.low.size(); ++n) {
        pulp.low[n] = body.depth.grey[n] > 0.25F && brick.grey[n] < middle;
        not_low[n] = pulp.low[n] == 0;
    }
    pulp.chamber.assign(pulp.low.size(), 0);
    pulp.pulp_grey = levels.pulp;
    Components pieces;
    int label = 0;
    std::vector<float> radius;
    side_by_side(threads, {[&] {
                               pieces = components(pulp.low, g);
                               label = piece_at(pieces, g, click_P);
                           },
                           [&] {
                               pulp.low_distance_mm =
                                   distance_to(pulp.low, g, threads, furthest_low_mm);
                               radius = distance_to(not_low, g, threads);
                           }});
    if (label == 0) return pulp;
    Mask piece(pulp.low.size());
    Mask core(pulp.low.size());
    std::size_t n = 0;
    std::vector<float> near_radius(pulp.low.size(), 0);
    for (int k = 0; k < g.size[2]; ++k) {
        for (int j = 0; j < g.size[1]; ++j) {
            for (int i = 0; i < g.size[0]; ++i, ++n) {
                piece[n] = pieces.label[n] == label;
                if (piece[n] == 0) continue;
                if ((g.to_patient(Vec3(i, j, k)) - click_P).norm() > search_mm) continue;
                near_radius[n] = radius[n];
                pulp.chamber_radius_mm = std::max<double>(pulp.chamber_radius_mm, radius[n]);
            }
        }
    }
    const double ball_mm =
        std::max(ball_share * pulp.chamber_radius_mm,
                 std::min(greatest_share * pulp.chamber_radius_mm, canal_radius_mm));
    for (std::size_t m = 0; m < core.size(); ++m) core[m] = near_radius[m] > ball_mm;
    pulp.chamber = dilated(core, g, ball_mm, threads);
    for (std::size_t m = 0; m < core.size(); ++m) pulp.chamber[m] &= piece[m];
    pulp.pulp_grey = grey_deep_inside(brick, piece, radius, 2.5 * levels.sigma_psf_mm, levels.pulp);
    return pulp;
}

}  // namespace anfract::tracing
