#include "tooth_mask.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "components.h"
#include "distance.h"
#include "neighbours.h"
#include "surface_mesh.h"

namespace anfract::tracing {
namespace {

constexpr double largest_mouth_mm2 = 0.5;
constexpr double deepest_groove_mm = 1;  ///< on average

/// The part of `hard` round the click that hangs together by necks wider than `neck_mm`; empty when
/// there is none.
Mask piece_round(const Mask& hard, const GridGeometry& geometry, const Vec3& click_P,
                 double neck_mm, unsigned threads) {
    const Mask core = eroded(hard, geometry, neck_mm / 2, threads);
    const Components pieces = components(core, geometry);
    const int label = label_round(pieces.label, static_cast<int>(pieces.sizes.size()), geometry,
                                  click_P, click_reach_mm);
    if (label == 0) return {};
    Mask piece(core.size());
    for (std::size_t n = 0; n < core.size(); ++n) piece[n] = pieces.label[n] == label;
    const double half_voxel = geometry.spacing_mm.maxCoeff() / 2;
    Mask tooth = dilated(piece, geometry, neck_mm / 2 + half_voxel, threads);
    for (std::size_t n = 0; n < tooth.size(); ++n) tooth[n] &= hard[n];
    return tooth;
}

/// Which of the hollows that were filled up are grooves of the root, or clefts between its ends, by
/// label: they open widely for their depth. A canal's mouth is small, or goes deep.
std::vector<std::uint8_t> grooves(const Components& pieces, const Mask& closed,
                                  const GridGeometry& g) {
    std::vector<std::size_t> open(pieces.sizes.size() + 1, 0);
    const auto dy = std::size_t(g.size[0]), dz = dy * std::size_t(g.size[1]);
    for (int k = 1; k + 1 < g.size[2]; ++k) {
        for (int j = 1; j + 1 < g.size[1]; ++j) {
            for (int i = 1; i + 1 < g.size[0]; ++i) {
                const std::size_t n = g.index(i, j, k);
                if (pieces.label[n] == 0) continue;
                const bool inner = closed[n - 1] != 0 && closed[n + 1] != 0 &&
                                   closed[n - dy] != 0 && closed[n + dy] != 0 &&
                                   closed[n - dz] != 0 && closed[n + dz] != 0;
                if (!inner) ++open[std::size_t(pieces.label[n])];
            }
        }
    }
    const double voxel_mm3 = g.spacing_mm.prod(), face_mm2 = std::cbrt(voxel_mm3 * voxel_mm3);
    std::vector<std::uint8_t> groove(open.size(), 0);
    for (std::size_t piece = 0; piece < pieces.sizes.size(); ++piece) {
        const double open_mm2 = double(open[piece + 1]) * face_mm2;
        const double volume_mm3 = double(pieces.sizes[piece]) * voxel_mm3;
        groove[piece + 1] =
            open_mm2 > largest_mouth_mm2 && volume_mm3 < deepest_groove_mm * open_mm2;
    }
    return groove;
}

}  // namespace

Result<Mask> find_hard_tooth(const Brick& brick, const GreyLevels& levels, const Vec3& click_P,
                             double neck_mm, double share, unsigned threads) {
    const auto least = static_cast<float>(levels.pulp + share * levels.contrast());
    Mask hard(brick.grey.size());
    for (std::size_t n = 0; n < hard.size(); ++n) hard[n] = brick.grey[n] > least;
    Mask tooth = piece_round(hard, brick.geometry, click_P, neck_mm, threads);
    if (!tooth.empty()) {
        Mask alone = without_neighbours(tooth, brick.geometry, click_P, threads);
        // What hung on a neighbour, such as the bone round its root, goes with it.
        if (alone != tooth) tooth = piece_round(alone, brick.geometry, click_P, neck_mm, threads);
    }
    if (tooth.empty()) {
        return fail(ErrorCode::BadInput, "no tooth is to be seen at the point", "the point",
                    "give a point in the pulp chamber or the middle of the crown");
    }
    return tooth;
}

Mask cropped(const Mask& mask, const GridGeometry& from, const GridGeometry& to) {
    const Vec3 shift = from.to_voxel(to.origin_P);
    const auto first = [&](int a) { return static_cast<int>(std::lround(shift[a])); };
    Mask result(to.voxel_count(), 0);
    const int left = std::max(0, -first(0)), right = std::min(to.size[0], from.size[0] - first(0));
    for (int k = 0; k < to.size[2]; ++k) {
        for (int j = 0; j < to.size[1]; ++j) {
            const int y = j + first(1), z = k + first(2);
            const bool within = y >= 0 && z >= 0 && y < from.size[1] && z < from.size[2];
            if (!within || left >= right) continue;
            std::copy_n(mask.begin() + std::ptrdiff_t(from.index(left + first(0), y, z)),
                        right - left, result.begin() + std::ptrdiff_t(to.index(left, j, k)));
        }
    }
    return result;
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
    const Mask closed = holes_filled(closed_over(hard, geometry, bridge_mm / 2, threads), geometry);

    Mask filled(hard.size());
    for (std::size_t n = 0; n < hard.size(); ++n) filled[n] = closed[n] != 0 && hard[n] == 0;
    const Components pieces = components(filled, geometry);
    const std::vector<std::uint8_t> groove = grooves(pieces, closed, geometry);
    ToothBody body;
    body.solid = hard;
    for (std::size_t n = 0; n < hard.size(); ++n) {
        if (filled[n] != 0) body.solid[n] = groove[std::size_t(pieces.label[n])] == 0;
    }
    body.depth = signed_distance(body.solid, geometry, threads);
    return body;
}

}  // namespace anfract::tracing
