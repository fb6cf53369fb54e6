#include "anfract/scan/volume.h"

#include <gtest/gtest.h>

#include <Eigen/Geometry>

namespace anfract {
namespace {

/// A scan whose grey value is the linear field 2 x - 3 y + z + 5 of the patient coordinates
/// (rounded).
Volume linear_scan(const Mat3& direction) {
    Volume volume;
    volume.geometry.size = {20, 16, 12};
    volume.geometry.spacing_mm = Vec3(0.5, 0.4, 0.25);
    volume.geometry.origin_P = Vec3(-3, 7, 11);
    volume.geometry.direction = direction;
    volume.slope = 0.001;
    volume.intercept = 5;
    std::vector<std::int16_t> stored;
    for (int k = 0; k < 12; ++k) {
        for (int j = 0; j < 16; ++j) {
            for (int i = 0; i < 20; ++i) {
                const Vec3 p = volume.geometry.to_patient(Vec3(i, j, k)) -
                               volume.geometry.to_patient(Vec3(10, 8, 6));
                stored.push_back(
                    std::int16_t(std::lround((2 * p.x() - 3 * p.y() + p.z()) / volume.slope)));
            }
        }
    }
    volume.voxels = stored;
    return volume;
}

const Mat3 oblique = Eigen::AngleAxisd(0.4, Vec3(1, 2, 3).normalized()).toRotationMatrix();

}  // namespace

TEST(Crop, KeepsEachVoxelAtItsPlaceInThePatient) {
    const Volume volume = linear_scan(oblique);
    const Vec3 centre_P = volume.geometry.to_patient(Vec3(9.2, 8.1, 5.7));
    const Brick brick = crop(volume, centre_P, Vec3(0.6, 0.6, 0.6));
    ASSERT_GT(brick.geometry.voxel_count(), 8u);
    ASSERT_LT(brick.geometry.voxel_count(), volume.geometry.voxel_count());
    for (int k = 0; k < brick.geometry.size[2]; ++k) {
        for (int j = 0; j < brick.geometry.size[1]; ++j) {
            for (int i = 0; i < brick.geometry.size[0]; ++i) {
                const Vec3 v = volume.geometry.to_voxel(brick.geometry.to_patient(Vec3(i, j, k)));
                const double grey = volume.grey(int(std::lround(v.x())), int(std::lround(v.y())),
                                                int(std::lround(v.z())));
                EXPECT_NEAR(brick.at(i, j, k), grey, 1e-3);
            }
        }
    }
}

TEST(Crop, EnclosesTheBoxAlongThePatientAxes) {
    const Volume volume = linear_scan(oblique);
    const Vec3 centre_P = volume.geometry.to_patient(Vec3(10, 8, 6));
    const Brick brick = crop(volume, centre_P, Vec3(0.5, 0.5, 0.5));
    for (int corner = 0; corner < 8; ++corner) {
        // A corner may stick out by less than one voxel, since whole voxels inside the box are
        // kept.
        const Vec3 p =
            centre_P + 0.5 * Vec3(corner & 1 ? 1 : -1, corner & 2 ? 1 : -1, corner & 4 ? 1 : -1);
        const Vec3 v = brick.geometry.to_voxel(p);
        for (int a = 0; a < 3; ++a) {
            EXPECT_GT(v[a], -1.0);
            EXPECT_LT(v[a], brick.geometry.size[std::size_t(a)]);
        }
    }
}

TEST(Crop, ClipsToTheScanAndIsEmptyOutsideIt) {
    const Volume volume = linear_scan(Mat3::Identity());
    EXPECT_EQ(crop(volume, volume.geometry.origin_P, Vec3(1000, 1000, 1000)).geometry.size,
              volume.geometry.size);
    EXPECT_TRUE(crop(volume, Vec3(500, 0, 0), Vec3(1, 1, 1)).grey.empty());
    EXPECT_TRUE(crop(volume, Vec3(std::nan(""), 0, 0), Vec3(1, 1, 1)).grey.empty());
}

TEST(Interpolate, IsExactForALinearFieldAndClampsAtTheBorder) {
    const Volume volume = linear_scan(oblique);
    const Brick brick = crop(volume, volume.geometry.origin_P, Vec3(100, 100, 100));
    const Vec3 middle_P = volume.geometry.to_patient(Vec3(10, 8, 6));
    for (const Vec3& v :
         {Vec3(3.25, 4.5, 5.75), Vec3(0, 0, 0), Vec3(19, 15, 11), Vec3(18.9, 0.1, 10.5)}) {
        const Vec3 p = volume.geometry.to_patient(v) - middle_P;
        // Half a stored step (0.0005) of rounding, and single precision.
        EXPECT_NEAR(interpolate(brick, v), 2 * p.x() - 3 * p.y() + p.z() + 5, 1e-3);
    }
    EXPECT_EQ(interpolate(brick, Vec3(-4, 99, 3)), brick.at(0, 15, 3));
}

}  // namespace anfract
