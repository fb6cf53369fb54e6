#include "anfract/geometry/curve_derivatives.h"

#include <gtest/gtest.h>

#include <numbers>
#include <random>

#include "shapes.h"

namespace anfract {
namespace {

/// Largest error of curvature and torsion of the helix a = 2, b = 1 away from its ends, with a
/// window of a fixed number of points.
std::pair<double, double> helix_errors(double spacing_mm) {
    const Polyline chain(helix(2, 1, 12, spacing_mm));
    const auto derivatives = curve_derivatives(chain, {.half_window_mm = 5.01 * spacing_mm});
    double curvature = 0, torsion = 0;
    for (std::size_t i = 6; i + 6 < derivatives.size(); ++i) {
        curvature = std::max(curvature, std::abs(derivatives[i].curvature() - 0.4));
        torsion = std::max(torsion, std::abs(derivatives[i].torsion_per_mm - 0.2));
    }
    return {curvature, torsion};
}

// A helix r = a, pitch 2 pi b has curvature a / (a^2 + b^2) and torsion b / (a^2 + b^2)
// [DoCarmo1976, 1-5].
TEST(CurveDerivatives, GiveCurvatureAndTorsionOfAHelix) {
    const auto [curvature, torsion] = helix_errors(0.1);
    EXPECT_LT(curvature, 1e-3);
    EXPECT_LT(torsion, 2e-3);
}

TEST(CurveDerivatives, ConvergeWithTheSquareOfTheSpacing) {
    const auto coarse = helix_errors(0.4);
    const auto middle = helix_errors(0.2);
    const auto fine = helix_errors(0.1);
    for (const auto& [rough, better] : {std::pair(coarse, middle), std::pair(middle, fine)}) {
        EXPECT_NEAR(std::log2(rough.first / better.first), 2.0, 0.15);
        EXPECT_NEAR(std::log2(rough.second / better.second), 2.0, 0.3);
    }
}

TEST(CurveDerivatives, HoldToTheEndsOfAnArc) {
    const double radius = 4;
    std::vector<Vec3> points;
    for (int i = 0; i <= 60; ++i) {
        const double t = 0.1 * i / radius;
        points.push_back({radius * std::sin(t), 0, radius * std::cos(t)});
    }
    for (const CurvePoint& point : curve_derivatives(Polyline(points))) {
        EXPECT_NEAR(point.curvature(), 1 / radius, 0.005);
        EXPECT_NEAR(point.torsion_per_mm, 0.0, 1e-9);
    }
}

TEST(CurveDerivatives, PointToTheCentreOfCurvature) {
    const Polyline chain(helix(2, 1, 12, 0.1));
    const auto derivatives = curve_derivatives(chain);
    const Vec3 middle = chain.points()[60];
    const Vec3 inward = -Vec3(middle.x(), middle.y(), 0).normalized();
    EXPECT_GT(derivatives[60].curvature_per_mm.normalized().dot(inward), 0.9999);
}

TEST(CurveDerivatives, DoNotChangeWhenTheCurveIsMoved) {
    const auto points = helix(3, 2, 10, 0.2);
    const auto before = curve_derivatives(Polyline(points));
    const auto after = curve_derivatives(Polyline(moved(points, some_rotation(), {10, -20, 30})));
    for (std::size_t i = 0; i < before.size(); ++i) {
        EXPECT_NEAR(before[i].curvature(), after[i].curvature(), 1e-9);
        EXPECT_NEAR(before[i].torsion_per_mm, after[i].torsion_per_mm, 1e-7);
        EXPECT_LT((some_rotation() * before[i].tangent - after[i].tangent).norm(), 1e-9);
    }
}

TEST(CurveDerivatives, ReversalTurnsOnlyTheTangent) {
    const Polyline chain(helix(3, 2, 10, 0.2));
    const auto forward = curve_derivatives(chain);
    const auto backward = curve_derivatives(chain.reversed());
    for (std::size_t i = 0; i < forward.size(); ++i) {
        const CurvePoint& mirror = backward[backward.size() - 1 - i];
        EXPECT_LT((forward[i].tangent + mirror.tangent).norm(), 1e-9);
        EXPECT_LT((forward[i].curvature_per_mm - mirror.curvature_per_mm).norm(), 1e-9);
        EXPECT_NEAR(forward[i].torsion_per_mm, mirror.torsion_per_mm, 1e-7);
    }
}

TEST(CurveDerivatives, AStraightChainHasNone) {
    const Polyline chain({{0, 0, 0}, {0, 0, 0.1}, {0, 0, 0.3}, {0, 0, 0.35}, {0, 0, 1}});
    for (const CurvePoint& point : curve_derivatives(chain)) {
        EXPECT_NEAR(point.curvature(), 0.0, 1e-9);
        EXPECT_EQ(point.torsion_per_mm, 0.0);
    }
    EXPECT_EQ(curve_derivatives(Polyline({{0, 0, 0}, {0, 1, 0}}))[1].tangent, Vec3(0, 1, 0));
}

TEST(CurveDerivatives, TotalCurvatureOfAQuarterCircleIsARightAngle) {
    std::vector<Vec3> points;
    for (int i = 0; i <= 80; ++i) {
        const double t = std::numbers::pi / 2 * i / 80;
        points.push_back({5 * std::cos(t), 5 * std::sin(t), 0});
    }
    const Polyline chain(points);
    EXPECT_NEAR(total_curvature_rad(chain, curve_derivatives(chain)), std::numbers::pi / 2, 0.005);
}

/// A quarter circle of radius 8 mm whose points scatter by 0.02 mm in each coordinate.
Polyline scattered_arc(unsigned seed) {
    std::mt19937 random(seed);
    std::normal_distribution<double> scatter(0.0, 0.02);
    std::vector<Vec3> points;
    for (int i = 0; i <= 125; ++i) {
        const double t = 0.1 * i / 8;
        points.push_back(Vec3(8 * std::cos(t), 8 * std::sin(t), 0) +
                         Vec3(scatter(random), scatter(random), scatter(random)));
    }
    return Polyline(points);
}

TEST(CurveDerivatives, StateTheScatterTheyHave) {
    // The spread of the component out of the plane, which is zero in truth, over many scattered
    // copies.
    double square = 0, stated = 0;
    int count = 0;
    for (unsigned seed = 1; seed <= 40; ++seed) {
        const auto derivatives = curve_derivatives(scattered_arc(seed));
        for (std::size_t i = 10; i + 10 < derivatives.size(); i += 5, ++count) {
            square += std::pow(derivatives[i].curvature_per_mm.z(), 2);
            stated += derivatives[i].curvature_sd_per_mm;
        }
    }
    // The median over few degrees of freedom lies a little below the mean: hence 10 %.
    EXPECT_NEAR(stated / count / std::sqrt(square / count), 1.0, 0.10);
}

TEST(CurveDerivatives, MeasureTheScatterAndSmoothItAway) {
    double stated = 0, before = 0, after = 0;
    constexpr int copies = 20;
    for (unsigned seed = 1; seed <= copies; ++seed) {
        const Polyline arc = scattered_arc(seed);
        const Polyline smooth = smoothed(arc);
        stated += scatter_mm(arc) / copies;
        ASSERT_EQ(smooth.points().size(), arc.points().size());
        for (std::size_t i = 0; i < arc.points().size(); ++i) {
            before += std::abs(arc.points()[i].head<2>().norm() - 8);
            after += std::abs(smooth.points()[i].head<2>().norm() - 8);
        }
    }
    EXPECT_NEAR(stated, 0.02, 0.003);
    EXPECT_LT(after, 0.5 * before);
}

TEST(CurveDerivatives, LeaveAnExactCurveWhereItIs) {
    const Polyline chain(helix(4, 1, 12, 0.2));
    EXPECT_LT(scatter_mm(chain), 1e-4);
    const Polyline smooth = smoothed(chain);
    for (std::size_t i = 0; i < chain.points().size(); ++i) {
        EXPECT_LT((smooth.points()[i] - chain.points()[i]).norm(), 1e-3);
    }
}

// A hand-made line of 10,000 points in 12 mm once took minutes: the fit at each point went with the
// square of the points in its reach.
TEST(CurveDerivatives, OfAVeryDenseLineTakeNoTime) {
    std::vector<Vec3> points;
    for (int i = 0; i < 3000; ++i) {
        const double turned = 0.3 * i / 3000;
        points.emplace_back(10 * std::sin(turned), 10 * (1 - std::cos(turned)), 0);
    }
    const auto derivatives = curve_derivatives(Polyline(points));
    EXPECT_NEAR(derivatives[1500].curvature(), 0.1, 1e-3);
}

}  // namespace
}  // namespace anfract
