#include "tooth_mask.h"

#include <algorithm>
#include <limits>

#include "components.h"
#include "distance.h"
#include "surface_mesh.h"

namespace anfract::tracing {
namespace {

/// Calls `visit(n, point_I)` for each voxel within `radius_mm` of a point.
template <class Visit>
void for_ball(const GridGeometry& g, const Vec3& centre_P, double radius_mm, const Visit& visit) {
    const Vec3 centre = g.to_voxel(centre_P);
    const Vec3 reach = Vec3::Constant(radius_mm).cwiseQuotient(g.spacing_mm);
    const auto low = [&](int a) { return std::max(0, static_cast<int>(centre[a] - reach[a])); };
    const auto high = [&](int a) {
        return std::min(g.size[std::size_t(a)] - 1, static_cast<int>(centre[a] + reach[a]) + 1);
    };
    for (int k = low(2); k <= high(2); ++k) {
        for (int j = low(1); j <= high(1); ++j) {
            for (int i = low(0); i <= high(0); ++i) {
                const Vec3 offset = (Vec3(i, j, k) - centre).cwiseProduct(g.spacing_mm);
                if (offset.squaredNorm() <= radius_mm * radius_mm) visit(g.index(i, j, k));
            }
        }
    }
}

}  // namespace

Result<Mask> find_hard_tooth(const Brick& brick, const GreyLevels& levels, const Vec3& click_P,
                             double neck_mm, unsigned threads) {
    const auto middle = static_cast<float>(levels.middle());
    Mask hard(brick.grey.size());
    for (std::size_t n = 0; n < hard.size(); ++n) hard[n] = brick.grey[n] > middle;
    const Mask core = eroded(hard, brick.geometry, neck_mm / 2, threads);
    const Components pieces = components(core, brick.geometry);
    std::vector<std::size_t> near(pieces.sizes.size() + 1, 0);
    for_ball(brick.geometry, click_P, 4.5,
             [&](std::size_t n) { ++near[std::size_t(pieces.label[n])]; });
    near[0] = 0;
    const auto most = std::max_element(near.begin(), near.end());
    if (*most == 0) {
        return fail(ErrorCode::BadInput, "no tooth is to be seen at the point", "--inside",
                    "give a point in the pulp chamber or the middle of the crown");
    }
    const int label = static_cast<int>(most - near.begin());
    Mask piece(core.size());
    for (std::size_t n = 0; n < core.size(); ++n) piece[n] = pieces.label[n] == label;
    const double half_voxel = brick.geometry.spacing_mm.maxCoeff() / 2;
    Mask tooth = dilated(piece, brick.geometry, neck_mm / 2 + half_voxel, threads);
    for (std::size_t n = 0; n < tooth.size(); ++n) tooth[n] &= hard[n];
    return tooth;
}

Box box_of(const Mask& mask, const GridGeometry& g, double margin_mm) {
    Vec3 low = Vec3::Constant(std::numeric_limits<double>::max());
    Vec3 high = -low;
    std::size_t n = 0;
    for (int k = 0; k < g.size[2]; ++k) {
        for (int j = 0; j < g.size[1]; ++j) {
            for (int i = 0; i < g.size[0]; ++i, ++n) {
                if (mask[n] == 0) continue;
                low = low.cwiseMin(Vec3(i, j, k));
                high = high.cwiseMax(Vec3(i, j, k));
            }
        }
    }
    Box box;
    box.centre_P = g.to_patient((low + high) / 2);
    const Vec3 half_I = (high - low).cwiseProduct(g.spacing_mm) / 2;
    box.half_mm = g.direction.cwiseAbs() * half_I + Vec3::Constant(margin_mm);
    return box;
}

ToothBody solid_tooth(const Mask& hard, const GridGeometry& geometry, double bridge_mm,
                      unsigned threads) {
    const Mask wide = dilated(hard, geometry, bridge_mm / 2, threads);
    Mask closed = eroded(holes_filled(wide, geometry), geometry, bridge_mm / 2, threads);
    for (std::size_t n = 0; n < hard.size(); ++n) closed[n] |= hard[n];
    ToothBody body;
    body.solid = holes_filled(closed, geometry);
    body.depth = signed_distance(body.solid, geometry, threads);
    return body;
}

}  // namespace anfract::tracing
