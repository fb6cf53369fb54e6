#include "anfract/geometry/moving_frame.h"

#include <gtest/gtest.h>

#include "shapes.h"

namespace anfract {
namespace {

/// How far (radians) the last frame on a helix is off the exact one. A rotation-minimising frame
/// turns against the Frenet frame by minus the integral of torsion [Wang2008, section 2].
double helix_frame_error(double spacing_mm) {
    const double a = 2, b = 1, speed = std::hypot(a, b), length = 12, torsion = b / (a * a + b * b);
    const auto points = helix(a, b, length, spacing_mm);
    std::vector<Vec3> tangents;
    for (std::size_t i = 0; i < points.size(); ++i) {
        const double t = static_cast<double>(i) * spacing_mm / speed;
        tangents.push_back(Vec3(-a * std::sin(t), a * std::cos(t), b) / speed);
    }
    const auto frames = rotation_minimising_frames(points, tangents, Vec3(-1, 0, 0));
    const double t = length / speed;
    const Vec3 normal(-std::cos(t), -std::sin(t), 0);
    const Vec3 binormal = tangents.back().cross(normal);
    const double turned = std::atan2(frames.back().n1.dot(binormal), frames.back().n1.dot(normal));
    return std::abs(std::remainder(turned + torsion * length, 2 * 3.14159265358979));
}

TEST(MovingFrame, TurnsAgainstFrenetByTheIntegralOfTorsion) {
    EXPECT_LT(helix_frame_error(0.1), 1e-6);
}

TEST(MovingFrame, ConvergesWithTheFourthPowerOfTheSpacing) {
    EXPECT_NEAR(std::log2(helix_frame_error(0.8) / helix_frame_error(0.4)), 4.0, 0.2);
    EXPECT_NEAR(std::log2(helix_frame_error(0.4) / helix_frame_error(0.2)), 4.0, 0.2);
}

TEST(MovingFrame, StaysRightHandedAndOrthonormal) {
    const auto points = helix(1, 3, 20, 0.25);
    std::vector<Vec3> tangents;
    for (std::size_t i = 0; i < points.size(); ++i) {
        tangents.push_back(
            (points[std::min(i + 1, points.size() - 1)] - points[i ? i - 1 : 0]).normalized());
    }
    for (const MovingFrame& frame : rotation_minimising_frames(points, tangents)) {
        EXPECT_NEAR(frame.n1.norm(), 1.0, 1e-12);
        EXPECT_NEAR(frame.n1.dot(frame.tangent), 0.0, 1e-12);
        EXPECT_LT((frame.n1.cross(frame.n2) - frame.tangent).norm(), 1e-12);
    }
}

TEST(MovingFrame, DoesNotTurnAlongAStraightLineOrInAPlane) {
    const std::vector<Vec3> line{{0, 0, 0}, {0, 0, 1}, {0, 0, 2}};
    const std::vector<Vec3> up(3, Vec3(0, 0, 1));
    EXPECT_LT(
        (rotation_minimising_frames(line, up, Vec3(1, 1, 0))[2].n1 - Vec3(1, 1, 0).normalized())
            .norm(),
        1e-12);
    // An S in the x-z plane: the normal of the plane stays where it is, also through the
    // inflection.
    std::vector<Vec3> points, tangents;
    for (int i = 0; i <= 40; ++i) {
        const double z = 0.25 * i;
        points.push_back({std::sin(z), 0, z});
        tangents.push_back(Vec3(std::cos(z), 0, 1).normalized());
    }
    const auto frames = rotation_minimising_frames(points, tangents, Vec3(0, 1, 0));
    EXPECT_LT((frames.back().n1 - Vec3(0, 1, 0)).norm(), 1e-12);
}

}  // namespace
}  // namespace anfract
