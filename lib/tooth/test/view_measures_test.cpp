#include "anfract/tooth/view_measures.h"

#include <gtest/gtest.h>

#include <Eigen/Geometry>

#include "canals.h"

namespace anfract {
namespace {

/// A canal made of a straight part, an arc and perhaps an apical leg, and what trigonometry says of
/// it.
struct WorkedExample {
    std::vector<Piece> pieces;
    double tangent_deg, schneider_deg, access_deg, arc_mm, radius_mm, length_mm, chord_mm;
};

// Closed forms, evaluated by hand: Schneider = atan2(r (1 - cos t) + La sin t, r sin t + La cos t).
const WorkedExample examples[] = {
    {{{10}, arc(5, 60)}, 60, 30.00, 9.90, 5.236, 5, 15.236, 14.547},
    {{{10}, arc(2, 60)}, 60, 30.00, 4.87, 2.094, 2, 12.094, 11.775},
    {{{10}, arc(5, 30)}, 30, 15.00, 3.07, 2.618, 5, 12.618, 12.518},
    {{{10}, arc(5, 45)}, 45, 22.50, 6.18, 3.927, 5, 13.927, 13.615},
    {{{8}, arc(5, 40), {2}}, 40, 27.35, 10.90, 3.491, 5, 13.491, 12.980},
    {{{8}, arc(5, 60), {3}}, 60, 41.17, 20.23, 5.236, 5, 16.236, 14.740},
    {{{6}, arc(4, 90)}, 90, 45.00, 21.80, 6.283, 4, 12.283, 10.770},
};

void expect_example(const WorkedExample& example, const ViewMeasures& measures,
                    double tolerance_deg) {
    EXPECT_NEAR(measures.tangent_deg, example.tangent_deg, tolerance_deg);
    EXPECT_NEAR(measures.schneider_deg, example.schneider_deg, tolerance_deg);
    EXPECT_NEAR(measures.access_deg, example.access_deg, tolerance_deg);
    EXPECT_NEAR(measures.arc_mm, example.arc_mm, 0.05);
    EXPECT_NEAR(*measures.arc_radius_mm, example.radius_mm, 0.02 * example.radius_mm);
    EXPECT_NEAR(*measures.three_point_radius_mm, example.radius_mm, 0.02 * example.radius_mm);
    EXPECT_NEAR(measures.total_curvature_deg, example.tangent_deg, 1.0);
}

TEST(ViewMeasures, GiveTheWorkedExamplesFromPointsATenthApart) {
    for (const WorkedExample& example : examples) {
        const Polyline chain(flat_curve(example.pieces, 0.1));
        EXPECT_NEAR(chain.length_mm(), example.length_mm, 2e-3);
        EXPECT_NEAR((chain.points().back() - chain.points().front()).norm(), example.chord_mm,
                    1e-3);
        expect_example(example, measure_in_space(chain), 0.1);
    }
}

TEST(ViewMeasures, GiveTheWorkedExamplesFromPointsAQuarterApart) {
    for (const WorkedExample& example : examples) {
        expect_example(example, measure_in_space(Polyline(flat_curve(example.pieces, 0.25))), 0.3);
    }
}

TEST(ViewMeasures, SchneiderIsHalfTheTangentAngleWhateverTheRadius) {
    for (double radius : {2.0, 4.0, 8.0, 16.0}) {
        const ViewMeasures m = measure_in_space(Polyline(flat_curve({{7}, arc(radius, 50)}, 0.2)));
        EXPECT_NEAR(m.schneider_deg, 0.5 * m.tangent_deg, 0.1) << radius;
    }
}

TEST(ViewMeasures, FindTheOffsetOfTheForamen) {
    // 5 (1 - cos 60) = 2.5 mm.
    const ViewMeasures m = measure_in_space(Polyline(flat_curve({{10}, arc(5, 60)}, 0.1)));
    EXPECT_NEAR(m.foramen_offset_mm, 2.5, 0.02);
}

TEST(ViewMeasures, OfAStraightCanalAreZero) {
    const ViewMeasures m = measure_in_space(Polyline(flat_curve({{12}}, 0.2)));
    EXPECT_EQ(m.schneider_deg, 0.0);
    EXPECT_NEAR(m.total_curvature_deg, 0.0, 1e-6);
    EXPECT_FALSE(m.arc_radius_mm);
    const Polyline along({{0, 0, 0}, {0, 0, 5}, {0, 0, 9}});
    EXPECT_EQ(measure_in_view(along, {0, 0, 1}).schneider_deg, 0.0);
}

TEST(ViewMeasures, DoNotChangeWhenTheCanalIsMoved) {
    const auto points = flat_curve({{8}, arc(5, 40), {2}}, 0.2);
    const Mat3 rotation = Eigen::AngleAxisd(2.1, Vec3(1, 2, -1).normalized()).toRotationMatrix();
    std::vector<Vec3> moved;
    for (const Vec3& point : points) moved.push_back(rotation * point + Vec3(30, -80, 12));
    const ViewMeasures before = measure_in_view(Polyline(points), Vec3(0, 1, 0));
    const ViewMeasures after = measure_in_view(Polyline(moved), rotation * Vec3(0, 1, 0));
    EXPECT_NEAR(before.schneider_deg, after.schneider_deg, 1e-4);
    EXPECT_NEAR(before.tangent_deg, after.tangent_deg, 1e-4);
    EXPECT_NEAR(before.total_curvature_deg, after.total_curvature_deg, 1e-4);
}

TEST(ViewMeasures, TangentAngleAndRadiusSurviveReversal) {
    const Polyline chain(flat_curve({{8}, arc(5, 40), {2}}, 0.1));
    const ViewMeasures forward = measure_in_space(chain),
                       backward = measure_in_space(chain.reversed());
    EXPECT_NEAR(forward.tangent_deg, backward.tangent_deg, 1e-6);
    EXPECT_NEAR(*forward.arc_radius_mm, *backward.arc_radius_mm, 1e-6);
    EXPECT_NEAR(forward.coronal_straight_mm, backward.apical_straight_mm, 1e-6);
}

// With the coronal axis along z, the slopes seen in two views at right angles add as squares:
// tan^2 g = tan^2 a + tan^2 b. 20 and 25 degrees give 30.60, 30 and 30 give 39.23.
TEST(ViewMeasures, TwoViewsAtRightAnglesAddUpToTheAngleInSpace) {
    for (const auto& [a, b, expected] :
         {std::tuple(20.0, 25.0, 30.60), std::tuple(30.0, 30.0, 39.23)}) {
        const double deg = std::numbers::pi / 180;
        const double seen_x = std::tan(a * deg), seen_y = std::tan(b * deg);
        const double g = std::atan(std::hypot(seen_x, seen_y)) / deg;
        // Straight, a bend by g in the plane between the views, and a leg.
        std::vector<Vec3> points = flat_curve({{8}, arc(3, g), {5}}, 0.1);
        const Mat3 turn =
            Eigen::AngleAxisd(std::atan2(seen_y, seen_x), Vec3::UnitZ()).toRotationMatrix();
        for (Vec3& point : points) point = turn * point;
        const Polyline chain(points);
        EXPECT_NEAR(measure_in_view(chain, {0, 1, 0}).tangent_deg, a, 0.1);
        EXPECT_NEAR(measure_in_view(chain, {1, 0, 0}).tangent_deg, b, 0.1);
        EXPECT_NEAR(measure_in_space(chain).tangent_deg, expected, 0.1);
    }
}

}  // namespace
}  // namespace anfract
