#include "anfract/geometry/straight_start.h"

#include <gtest/gtest.h>

#include <limits>

#include "shapes.h"

namespace anfract {
namespace {

/// A straight line of `straight_mm` along z that goes over into an arc in the x-z plane.
std::vector<Vec3> line_and_arc(double straight_mm, double radius_mm, double degrees,
                               double spacing_mm) {
    const double arc = radius_mm * degrees * 3.14159265358979 / 180;
    std::vector<Vec3> points;
    const int steps = static_cast<int>(std::ceil((straight_mm + arc) / spacing_mm));
    for (int i = 0; i <= steps; ++i) {
        const double s = (straight_mm + arc) * i / steps;
        const double t = std::max(0.0, s - straight_mm) / radius_mm;
        points.push_back(
            {radius_mm * (1 - std::cos(t)), 0, std::min(s, straight_mm) + radius_mm * std::sin(t)});
    }
    return points;
}

TEST(StraightStart, FindsWhereALineGoesOverIntoAnArc) {
    for (double spacing : {0.1, 0.25}) {
        for (double radius : {2.0, 5.0, 15.0}) {
            const auto start = straight_start(Polyline(line_and_arc(10, radius, 60, spacing)));
            EXPECT_NEAR(start.length_mm, 10.0, 0.02) << radius << " " << spacing;
            EXPECT_LT((start.departure - Vec3(0, 0, 10)).norm(), 0.02);
            EXPECT_LT((start.direction - Vec3(0, 0, 1)).norm(), 1e-3);
        }
    }
}

TEST(StraightStart, OfAnArcIsItsTangent) {
    const auto start = straight_start(Polyline(line_and_arc(0, 6, 70, 0.2)));
    EXPECT_NEAR(start.length_mm, 0.0, 0.02);
    EXPECT_LT((start.direction - Vec3(0, 0, 1)).norm(), 1e-3);
}

TEST(StraightStart, OfALineIsTheWhole) {
    const auto start = straight_start(Polyline({{0, 0, 0}, {0, 0, 1}, {0, 0, 2}, {0, 0, 3}}));
    EXPECT_TRUE(start.whole);
    EXPECT_DOUBLE_EQ(start.length_mm, 3.0);
}

TEST(StraightStart, BearsABendThatIsOverAtOnce) {
    // 20 degrees at a radius of 2 mm lift the canal by only 0.12 mm, then it runs straight on.
    std::vector<Vec3> points = line_and_arc(10, 2, 20, 0.1);
    const double turn = 20 * 3.14159265358979 / 180;
    for (int i = 1; i <= 30; ++i) {
        points.push_back(points.back() + 0.1 * Vec3(std::sin(turn), 0, std::cos(turn)));
    }
    const auto start = straight_start(Polyline(points));
    EXPECT_NEAR(start.length_mm, 10.0, 0.02);
    EXPECT_LT((start.direction - Vec3(0, 0, 1)).norm(), 1e-3);
}

TEST(StraightStart, BearsWavesInThePoints) {
    // A traced centreline errs in waves: scatter of 0.03 mm smoothed over about a millimetre.
    // What counts is the angle from the line to the end of the chain, 30 degrees in truth.
    double sum = 0, square = 0;
    constexpr int copies = 40;
    for (unsigned seed = 1; seed <= copies; ++seed) {
        std::vector<Vec3> points = line_and_arc(10, 5, 60, 0.15);
        add_waves(points, 0.03, 7, seed);
        const auto start = straight_start(Polyline(points));
        const Vec3 to_end = (points.back() - start.departure).normalized();
        const double angle = std::acos(start.direction.dot(to_end)) * 180 / 3.14159265358979;
        sum += angle;
        square += angle * angle;
    }
    const double mean = sum / copies, sd = std::sqrt(square / copies - mean * mean);
    RecordProperty("mean_deg", std::to_string(mean));
    RecordProperty("sd_deg", std::to_string(sd));
    EXPECT_NEAR(mean, 30.0, 3.0);
    EXPECT_LT(sd, 5.0);
}

TEST(StraightStart, MovesWithTheChain) {
    const auto points = line_and_arc(8, 4, 50, 0.2);
    const Vec3 shift(100, -50, 20);
    const auto before = straight_start(Polyline(points));
    const auto after = straight_start(Polyline(moved(points, some_rotation(), shift)));
    EXPECT_NEAR(before.length_mm, after.length_mm, 1e-5);
    EXPECT_LT((some_rotation() * before.departure + shift - after.departure).norm(), 1e-5);
    EXPECT_LT((some_rotation() * before.direction - after.direction).norm(), 1e-6);
}

// Worked examples: a circle of radius 5 at 0, 30 and 60 degrees; and plain arithmetic by abc / (4
// K).
TEST(Circumradius, GivesTheWorkedExamples) {
    EXPECT_NEAR(circumradius_mm({0, 0, 0}, {0.669873, 2.5, 0}, {2.5, 4.330127, 0}), 5.0, 1e-5);
    EXPECT_NEAR(circumradius_mm({0, 0, 0}, {1, 3, 0}, {4, 5, 0}), 5.2148, 5e-5);
    EXPECT_EQ(circumradius_mm({0, 0, 0}, {1, 1, 1}, {2, 2, 2}),
              std::numeric_limits<double>::infinity());
}

}  // namespace
}  // namespace anfract
