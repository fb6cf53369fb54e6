#include "parting.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace anfract::tracing {
namespace {

constexpr double voxel_mm = 0.125;
constexpr double end_mm = 7.4;  ///< where the root's surface lies

GreyLevels levels() {
    GreyLevels levels;
    levels.dentine = 1000;
    levels.noise_cell_mm3 = std::pow(voxel_mm, 3);
    levels.sigma_psf_mm = 0.106;
    return levels;
}

/// How far the narrow canal lies beside the wide one, which runs along z.
using Gap = double (*)(double z_mm);

/// 0.9 mm at the beginning, nothing from 5 mm on.
double closing(double z_mm) {
    const double t = std::clamp(z_mm / 5, 0.0, 1.0);
    return 0.9 * (1 - t * t * (3 - 2 * t));
}

/// 0.9 mm at the beginning, 0.45 mm at 3 mm, slowly apart again from there.
double passing(double z_mm) { return 0.45 + (z_mm < 3 ? 0.05 : 0.015) * (z_mm - 3) * (z_mm - 3); }

/// A wide and a narrow oval canal, both longer along x as roots with two canals have them.
Brick two_canals(Gap gap) {
    GridGeometry geometry;
    geometry.size = {28, 20, 64};
    geometry.spacing_mm = Vec3::Constant(voxel_mm);
    geometry.origin_P = Vec3(-1.2, -1.2, -0.2);
    Brick brick{geometry, std::vector<float>(std::size_t(28 * 20 * 64), 1000)};
    constexpr int fine = 5;
    const auto in_ellipse = [](double x, double y, double half_x, double half_y) {
        return x * x / (half_x * half_x) + y * y / (half_y * half_y) < 1;
    };
    for (int n = 0; n < int(brick.grey.size()); ++n) {
        const Vec3 corner = geometry.to_patient(Vec3(n % 28, n / 28 % 20, n / (28 * 20))) -
                            Vec3(voxel_mm, voxel_mm, 0) / 2;
        int pulp = 0;
        for (int sub = 0; sub < fine * fine; ++sub) {
            const double x = corner.x() + (sub % fine + 0.5) * voxel_mm / fine;
            const double y = corner.y() + (sub / fine + 0.5) * voxel_mm / fine;
            pulp +=
                in_ellipse(x, y, 0.31, 0.17) || in_ellipse(x - gap(corner.z()), y, 0.19, 0.0825);
        }
        brick.grey[std::size_t(n)] -= 1000.0F * float(pulp) / float(fine * fine);
    }
    return smooth(brick, std::sqrt(0.106 * 0.106 - voxel_mm * voxel_mm / 12), 1);
}

/// The narrow canal followed from where its voxels can still be told from the wide one's.
Parting followed(Gap gap) {
    const Brick brick = two_canals(gap);
    ToothBody body{{}, brick};
    for (std::size_t n = 0; n < body.depth.grey.size(); ++n) {
        const double z = brick.geometry.to_patient(Vec3(0, 0, double(n / (28 * 20)))).z();
        body.depth.grey[n] = static_cast<float>(end_mm - z);
    }
    std::vector<Vec3> path;
    for (double z = 0; gap(z) > 0.62; z += 0.1) path.emplace_back(gap(z), 0, z);
    path.emplace_back(0, 0, path.back().z() + 0.5);
    FittedCanal wide = unfitted(Polyline({Vec3(0, 0, 0), Vec3(0, 0, end_mm)}));
    for (FittedSection& section : wide.sections) section.diameter_mm = 0.46;
    const GreyLevels grey = levels();
    const FitInput input{brick, body, grey, Polyline(path), {}, false, true, {}};
    return follow_beside(input, input.start, wide);
}

double furthest_off_mm(const Polyline& line, Gap gap) {
    double furthest = 0;
    const Polyline even = line.resampled(0.1);
    for (const Vec3& p : even.points())
        furthest = std::max(furthest, (p - Vec3(gap(p.z()), 0, p.z())).norm());
    return furthest;
}

TEST(Parting, EndsWhereANarrowCanalHasRunIntoAWideOne) {
    const Parting parting = followed(closing);
    EXPECT_FALSE(parting.apart_to_end);
    // Their lumens touch from 2.5 mm on.
    EXPECT_LT(parting.line.points().back().z(), 5);
    EXPECT_GT(parting.line.points().back().z(), 2.5);
    EXPECT_LT(furthest_off_mm(parting.line, closing), 0.1);
}

// Drawn straight at the rate of approach it met the other canal at 11 degrees and more.
TEST(Parting, MeetsTheOtherCanalWithoutAKink) {
    const std::vector<Vec3> points = followed(closing).line.points();
    const Vec3 last = (points.back() - points[points.size() - 2]).normalized();
    EXPECT_LT(std::acos(last.z()), 6 * std::numbers::pi / 180);
}

TEST(Parting, FollowsACanalThatComesNearAndPartsAgain) {
    const Parting parting = followed(passing);
    EXPECT_TRUE(parting.apart_to_end || parting.line.points().back().z() > 5);
    EXPECT_LT(furthest_off_mm(parting.line, passing), 0.1);
}

}  // namespace
}  // namespace anfract::tracing
