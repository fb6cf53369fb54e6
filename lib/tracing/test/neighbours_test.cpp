#include "neighbours.h"

#include <gtest/gtest.h>

#include "synthetic.h"

namespace anfract::tracing {
namespace {

const GridGeometry grid = synthetic::grid(120, 60, 80, 0.2);
const Vec3 middle = grid.to_patient(Vec3(35, 30, 20));

Mask mask_of(const std::function<bool(const Vec3&)>& body) {
    Mask mask(grid.voxel_count());
    for (int k = 0; k < grid.size[2]; ++k) {
        for (int j = 0; j < grid.size[1]; ++j) {
            for (int i = 0; i < grid.size[0]; ++i) {
                mask[grid.index(i, j, k)] = body(grid.to_patient(Vec3(i, j, k)));
            }
        }
    }
    return mask;
}

/// A crown of 8 mm with a chamber of 2.6 mm and two roots of 3 mm with canals that are open at
/// their ends.
bool tooth(const Vec3& p, const Vec3& at) {
    const Vec3 q = p - at;
    if (q.norm() < 1.3) return false;
    bool root = false;
    for (const double x : {-2.2, 2.2}) {
        const double away = std::hypot(q.x() - x, q.y());
        if (away < 0.2 && q.z() > 0) return false;
        root = root || (away < 1.5 && q.z() > 0 && q.z() < 11);
    }
    return q.norm() < 4 || root;
}

TEST(Neighbours, ATouchingToothIsTakenAway) {
    const Vec3 other = middle + Vec3(7.9, 0, 0);
    const Mask both = mask_of([&](const Vec3& p) { return tooth(p, middle) || tooth(p, other); });
    const Mask alone = mask_of([](const Vec3& p) { return tooth(p, middle); });
    const Mask kept = without_neighbours(both, grid, middle, 1);
    std::size_t lost = 0, left = 0, own = 0;
    for (std::size_t n = 0; n < kept.size(); ++n) {
        own += alone[n];
        lost += alone[n] != 0 && kept[n] == 0;
        left += alone[n] == 0 && kept[n] != 0;
    }
    EXPECT_LT(double(lost), 0.002 * double(own));
    EXPECT_LT(double(left), 0.002 * double(own));
}

TEST(Neighbours, AToothAloneKeepsItsRoots) {
    const Mask alone = mask_of([](const Vec3& p) { return tooth(p, middle); });
    EXPECT_EQ(without_neighbours(alone, grid, middle, 1), alone);
}

TEST(Neighbours, ARootBelowACavityThatIsOpenToTheSideStaysWithItsCrown) {
    const Vec3 hollow = middle + Vec3(0, 0, 1);
    const Mask tooth = mask_of([&](const Vec3& p) {
        const Vec3 q = p - middle;
        const bool root = std::hypot(q.x(), q.y()) < 3 && q.z() > 0 && q.z() < 11;
        const bool opening = q.x() < 0 && std::hypot(q.y(), q.z() - 1) < 1.2;
        return (q.norm() < 4 || root) && (p - hollow).norm() > 2.2 && !opening;
    });
    EXPECT_EQ(without_neighbours(tooth, grid, middle, 1), tooth);
}

TEST(Neighbours, NothingHardGivesNothing) {
    const Mask none(grid.voxel_count(), 0);
    EXPECT_EQ(without_neighbours(none, grid, middle, 1), none);
}

}  // namespace
}  // namespace anfract::tracing
