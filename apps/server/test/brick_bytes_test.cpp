#include "brick_bytes.h"

#include <gtest/gtest.h>

#include <cstring>

namespace anfract::server {
namespace {

/// grey = 2 (i + 10 j + 100 k) - 5, in an oblique frame.
Volume ramp(int ni, int nj, int nk) {
    Volume volume;
    volume.geometry.size = {ni, nj, nk};
    volume.geometry.spacing_mm = Vec3(0.2, 0.3, 0.4);
    volume.geometry.origin_P = Vec3(5, -6, 7);
    volume.geometry.direction << 0, 0, 1, 1, 0, 0, 0, 1, 0;
    volume.slope = 2;
    volume.intercept = -5;
    std::vector<std::int16_t> stored;
    for (int k = 0; k < nk; ++k) {
        for (int j = 0; j < nj; ++j) {
            for (int i = 0; i < ni; ++i)
                stored.push_back(static_cast<std::int16_t>(i + 10 * j + 100 * k));
        }
    }
    volume.voxels = stored;
    return volume;
}

int value(const BrickBytes& brick, int i, int j, int k) {
    std::int16_t grey = 0;
    std::memcpy(&grey, brick.int16.data() + 2 * brick.geometry.index(i, j, k), 2);
    return grey;
}

TEST(BrickBytes, WholeScanHoldsEveryGreyValue) {
    const Volume volume = ramp(3, 4, 5);
    const BrickBytes brick = cut_brick(volume, {}).value();
    EXPECT_EQ(brick.int16.size(), 2u * 3 * 4 * 5);
    EXPECT_EQ(value(brick, 0, 0, 0), -5);
    EXPECT_EQ(value(brick, 2, 3, 4), 2 * 432 - 5);
}

// The mean of a linear ramp over a block is its value at the block's centre (closed form), so the
// block must also lie where its geometry says.
TEST(BrickBytes, BlockMeansOfARampAreItsValuesAtTheBlockCentres) {
    const Volume volume = ramp(9, 8, 7);
    for (const int step : {1, 2, 3}) {
        const BrickBytes brick = cut_brick(volume, {std::nullopt, {}, step}).value();
        EXPECT_EQ(brick.geometry.size, (std::array<int, 3>{9 / step, 8 / step, 7 / step}));
        for (int k = 0; k < brick.geometry.size[2]; ++k) {
            for (int j = 0; j < brick.geometry.size[1]; ++j) {
                for (int i = 0; i < brick.geometry.size[0]; ++i) {
                    const Vec3 at =
                        volume.geometry.to_voxel(brick.geometry.to_patient(Vec3(i, j, k)));
                    // half a grey value is what rounding costs
                    EXPECT_NEAR(value(brick, i, j, k),
                                2 * (at.x() + 10 * at.y() + 100 * at.z()) - 5, 0.5 + 1e-9);
                }
            }
        }
    }
}

TEST(BrickBytes, PartOfTheScanLiesWhereItLay) {
    const Volume volume = ramp(9, 8, 7);
    const Vec3 centre = volume.geometry.to_patient(Vec3(4, 4, 3));
    const BrickBytes brick = cut_brick(volume, {centre, Vec3(0.5, 0.5, 0.5), 1}).value();
    EXPECT_LT(brick.geometry.voxel_count(), volume.voxels.size());
    const Vec3 at = volume.geometry.to_voxel(brick.geometry.origin_P);
    EXPECT_EQ(value(brick, 0, 0, 0), std::lround(2 * (at.x() + 10 * at.y() + 100 * at.z()) - 5));
}

TEST(BrickBytes, AThinScanKeepsOneLayer) {
    const BrickBytes brick = cut_brick(ramp(8, 8, 2), {std::nullopt, {}, 4}).value();
    EXPECT_EQ(brick.geometry.size, (std::array<int, 3>{2, 2, 1}));
    EXPECT_EQ(value(brick, 0, 0, 0), 2 * (1.5 + 15 + 50) - 5);
}

TEST(BrickBytes, HoldsGreyValuesWithinTheRangeOfTheType) {
    Volume volume = ramp(2, 1, 1);
    volume.slope = 1e6;
    EXPECT_EQ(value(cut_brick(volume, {}).value(), 1, 0, 0), 32767);
    volume.slope = -1e6;
    EXPECT_EQ(value(cut_brick(volume, {}).value(), 1, 0, 0), -32768);
}

TEST(BrickBytes, RefusesABoxOutsideAndAStepThatIsNone) {
    const Volume volume = ramp(4, 4, 4);
    EXPECT_FALSE(cut_brick(volume, {Vec3(1000, 0, 0), Vec3(1, 1, 1), 1}));
    EXPECT_FALSE(cut_brick(volume, {std::nullopt, {}, 0}));
    EXPECT_FALSE(cut_brick(volume, {std::nullopt, {}, 65}));
}

}  // namespace
}  // namespace anfract::server
