#include "anfract/phantom/scanner_faults.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "anfract/phantom/phantom.h"
#include "isthmus.h"

namespace anfract {
namespace {

Brick brick_of(int nx, int ny, int nz, double spacing_mm) {
    Brick brick;
    brick.geometry.size = {nx, ny, nz};
    brick.geometry.spacing_mm = Vec3::Constant(spacing_mm);
    brick.grey.assign(brick.geometry.voxel_count(), -1000.0F);
    return brick;
}

/// A disc of water in every slice.
Brick disc(double radius_mm) {
    Brick brick = brick_of(80, 80, 1, 0.2);
    for (int j = 0; j < 80; ++j) {
        for (int i = 0; i < 80; ++i) {
            if (std::hypot(i - 39.5, j - 39.5) * 0.2 < radius_mm)
                brick.grey[brick.geometry.index(i, j, 0)] = 0;
        }
    }
    return brick;
}

double mean_of(const Brick& brick) {
    double sum = 0;
    for (const float g : brick.grey) sum += double(g);
    return sum / double(brick.grey.size());
}

// An edge seen for 70 % of the time in one place and for 30 % 1 mm further is two edges.
TEST(Movement, DoublesAnEdgeByTheShareOfTime) {
    Brick brick = brick_of(40, 4, 4, 0.25);
    for (int k = 0; k < 4; ++k) {
        for (int j = 0; j < 4; ++j) {
            for (int i = 0; i < 20; ++i) brick.grey[brick.geometry.index(i, j, k)] = 1000;
        }
    }
    add_movement(brick, Vec3(1, 0, 0), 0.3, 1);
    EXPECT_NEAR(brick.grey[brick.geometry.index(19, 1, 1)], 1000, 1e-3);
    EXPECT_NEAR(brick.grey[brick.geometry.index(21, 1, 1)], -1000 + 0.3 * 2000, 1e-3);
    EXPECT_NEAR(brick.grey[brick.geometry.index(24, 1, 1)], -1000, 1e-3);
}

// What the missing rays held is gone, and its mean is made up for by the others.
TEST(MissingArc, KeepsTheMeanAndBlursAcrossTheMissingRays) {
    const Brick whole = disc(4);
    Brick cut = whole;
    remove_arc(cut, 30, 0, 1, Progress());
    // 3.7 % off as measured: a little is lost and won at the border of the image.
    EXPECT_NEAR(mean_of(cut), mean_of(whole), 0.04 * (mean_of(whole) + 1000));
    const auto edge = [&](const Brick& b, int i, int j) {
        return double(b.grey[b.geometry.index(i, j, 0)]);
    };
    // Rays of angle 0 run along y and measure x: edges that face x fade, those that face y do not.
    const double facing_x = edge(cut, 39, 40) - edge(cut, 17, 40);
    const double facing_y = edge(cut, 39, 40) - edge(cut, 40, 17);
    EXPECT_LT(facing_x, facing_y - 50);
    Brick same = whole;
    remove_arc(same, 0, 0, 1, Progress());
    EXPECT_EQ(same.grey, whole.grey);
}

TEST(SmallField, KeepsItsVoxelsInPlace) {
    Brick brick = brick_of(30, 30, 30, 0.2);
    brick.geometry.origin_P = Vec3(1, 2, 3);
    brick.grey[brick.geometry.index(14, 15, 16)] = 77;
    const Vec3 place = brick.geometry.to_patient(Vec3(14, 15, 16));
    const Brick cut = cut_field(brick, place, 2.0);
    EXPECT_LE(cut.geometry.size[0] * 0.2, 2.5);
    const Vec3 v = cut.geometry.to_voxel(place);
    EXPECT_EQ(cut.grey[cut.geometry.index(int(std::lround(v.x())), int(std::lround(v.y())),
                                          int(std::lround(v.z())))],
              77);
    EXPECT_EQ(cut.grey.size(), cut.geometry.voxel_count());
}

TEST(Isthmus, IsASheetBetweenTwoCanals) {
    const auto tube = [](double y) {
        std::vector<VaryingTube::Station> stations;
        for (double z = 0; z < 10; z += 0.05)
            stations.push_back({{0, y, z}, {0, 0, 1}, {1, 0, 0}, {0, 1, 0}, 0.1, 0.1});
        return VaryingTube(stations, 0.05, 0.02, 0.02);
    };
    const Isthmus sheet(tube(-1), tube(1), 0.2, 3, 6);
    EXPECT_NEAR(sheet.distance_mm({0, 0, 4}), -0.1, 1e-9);
    EXPECT_NEAR(sheet.distance_mm({0.3, 0.5, 4}), 0.2, 1e-9);
    EXPECT_NEAR(sheet.distance_mm({0, 0, 7}), 1, 1e-9);
    EXPECT_NEAR(sheet.distance_mm({0, 1.4, 5}), 0.3, 1e-9);
}

PhantomOptions quick(double field_mm) {
    PhantomOptions options;
    options.kind = "random-31";
    options.voxel_mm = 0.3;
    options.noise = 0;
    options.field_mm = field_mm;
    return options;
}

TEST(PhantomWithFaults, HasTheGreyScaleAskedFor) {
    PhantomOptions options = quick(0);
    const Phantom plain = *make_phantom(options, Progress());
    options.grey_scale = 0.5;
    options.grey_offset = 700;
    const Phantom scaled = *make_phantom(options, Progress());
    ASSERT_EQ(plain.volume.voxels.size(), scaled.volume.voxels.size());
    for (std::size_t n = 0; n < plain.volume.voxels.size(); n += 997)
        EXPECT_NEAR(scaled.volume.voxels[n], 0.5 * plain.volume.voxels[n] + 700, 0.76);
}

TEST(PhantomWithFaults, RefusesWhatIsOutOfRange) {
    EXPECT_FALSE(make_phantom(quick(2), Progress()));
    PhantomOptions options = quick(0);
    options.movement_mm = 9;
    EXPECT_FALSE(make_phantom(options, Progress()));
    options = quick(0);
    options.grey_scale = 0;
    EXPECT_FALSE(make_phantom(options, Progress()));
}

TEST(PhantomWithFaults, IsDarkerWithoutBoneAndBrighterBesideNeighbours) {
    const Phantom plain = *make_phantom(quick(0), Progress());
    PhantomOptions options = quick(0);
    options.neighbours = true;
    const Phantom beside = *make_phantom(options, Progress());
    options = quick(0);
    options.thin_bone = true;
    const Phantom thin = *make_phantom(options, Progress());
    const auto mean = [](const Phantom& p) {
        double sum = 0;
        for (const auto v : p.volume.voxels) sum += v;
        return sum / double(p.volume.voxels.size());
    };
    EXPECT_GT(mean(beside), mean(plain) + 10);
    // Where there was cortical bone, 1500, there is gum now, 50, or air.
    double most = 0;
    for (std::size_t n = 0; n < thin.volume.voxels.size(); ++n)
        most = std::max(most, double(plain.volume.voxels[n]) - thin.volume.voxels[n]);
    EXPECT_GT(most, 1000);
}

}  // namespace
}  // namespace anfract
