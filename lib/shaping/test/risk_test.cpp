#include "anfract/shaping/risk.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>

#include "test_lumens.h"

namespace anfract {
namespace {

using testing::CanalShape;

CanalShape narrow_bend() {
    CanalShape shape;
    shape.straight_mm = 5;
    shape.arc_radius_mm = 6;
    shape.arc_deg = 40;
    shape.orifice_diameter_mm = 0.7;
    shape.foramen_diameter_mm = 0.2;
    return shape;
}

Uncertainty plain_uncertainty(const Lumen& lumen) {
    Canal canal;
    canal.samples.resize(2);
    canal.samples[0].depth_mm = lumen.depth_mm.front();
    canal.samples[1].depth_mm = lumen.depth_mm.back();
    return uncertainty_of(canal, lumen, 0.2);
}

OrderStep rotary_step(double tip_mm, double taper, double depth_mm) {
    OrderStep step;
    step.action = StepAction::Finish;
    step.device = testing::file(tip_mm, taper);
    step.depth_mm = depth_mm;
    return step;
}

const Risk* find(const OrderRisk& found, RiskKind kind) {
    const auto at = std::find_if(found.risks.begin(), found.risks.end(),
                                 [kind](const Risk& risk) { return risk.kind == kind; });
    return at == found.risks.end() ? nullptr : &*at;
}

// The function of Ishigami and Homma (1990), a = 7, b = 0.1, inputs uniform in (-pi, pi): with
// V = a^2/8 + b pi^4/5 + b^2 pi^8/18 + 1/2, S1 = (1 + b pi^4/5)^2 / (2V) = 0.3139,
// S2 = a^2/8 / V = 0.4424, S3 = 0 (closed form).
TEST(VarianceShare, AgreesWithTheIshigamiFunction) {
    std::mt19937_64 engine(7);
    std::uniform_real_distribution<double> angle(-std::numbers::pi, std::numbers::pi);
    for (const auto& [count, tolerance] : {std::pair(20000, 0.02), std::pair(300, 0.15)}) {
        std::vector<double> x1, x2, x3, y;
        for (int i = 0; i < count; ++i) {
            x1.push_back(angle(engine));
            x2.push_back(angle(engine));
            x3.push_back(angle(engine));
            y.push_back(std::sin(x1.back()) + 7 * std::pow(std::sin(x2.back()), 2) +
                        0.1 * std::pow(x3.back(), 4) * std::sin(x1.back()));
        }
        EXPECT_NEAR(variance_share(x1, y), 0.3139, tolerance) << count;
        EXPECT_NEAR(variance_share(x2, y), 0.4424, tolerance) << count;
        EXPECT_NEAR(variance_share(x3, y), 0.0, tolerance) << count;
    }
}

// Of a sum of independent normals each explains its own variance over the whole: 16/25 and 9/25.
TEST(VarianceShare, OfALinearSumIsThatOfItsVariance) {
    std::mt19937_64 engine(3);
    std::normal_distribution<double> normal;
    std::vector<double> a, b, y;
    for (int i = 0; i < 20000; ++i) {
        a.push_back(normal(engine));
        b.push_back(normal(engine));
        y.push_back(4 * a.back() + 3 * b.back());
    }
    EXPECT_NEAR(variance_share(a, y), 0.64, 0.02);
    EXPECT_NEAR(variance_share(b, y), 0.36, 0.02);
    EXPECT_EQ(variance_share(a, std::vector<double>(a.size(), 1.0)), 0);
    EXPECT_EQ(variance_share({1, 2, 3}, {1, 2, 3}), 0);
}

TEST(SampledLumen, IsTheCanalItselfWhenNothingMoves) {
    const Lumen native = testing::lumen(narrow_bend());
    const Uncertainty uncertainty = plain_uncertainty(native);
    const std::vector<double> still(risk_inputs(uncertainty).size(), 0.0);
    const Lumen same = sampled_lumen(native, uncertainty, still);
    EXPECT_LT((same.radius_mm - native.radius_mm).abs().maxCoeff(), 1e-12);
    EXPECT_LT((same.wall_mm - native.wall_mm).abs().maxCoeff(), 1e-12);
    EXPECT_LT((same.point_P.back() - native.point_P.back()).norm(), 1e-12);
}

TEST(SampledLumen, MovesWidthWallAndBendByTheirDeviations) {
    const Lumen native = testing::lumen(narrow_bend());
    Uncertainty uncertainty = plain_uncertainty(native);
    const std::size_t knots = uncertainty.width_depth_mm.size();
    std::vector<double> normal(risk_inputs(uncertainty).size(), 0.0);
    normal[knots - 1] = 1;   // the width at the foramen
    normal[knots + 1] = -1;  // a tenth less bend
    const Lumen moved = sampled_lumen(native, uncertainty, normal);
    const int last = native.station_count() - 1;
    EXPECT_NEAR(2 * moved.radius_mm(last, 0), 0.2 + 0.02, 1e-9);  // assumed sd: a tenth
    EXPECT_NEAR(moved.wall_mm(last, 0), 1.5 - 0.01, 1e-9);
    EXPECT_NEAR(moved.radius_mm(0, 0), native.radius_mm(0, 0), 1e-12);
    // The turn from end to end of a plane arc is the sum of the turns of its steps.
    const auto turn = [](const Lumen& lumen) {
        return std::acos(lumen.tangent_P.front().dot(lumen.tangent_P.back())) * 180 /
               std::numbers::pi;
    };
    EXPECT_NEAR(turn(native), 40, 1e-6);
    EXPECT_NEAR(turn(moved), 36, 1e-6);
    // Frames stay right-handed and of unit length.
    EXPECT_NEAR(moved.n1_P.back().cross(moved.n2_P.back()).dot(moved.tangent_P.back()), 1, 1e-9);
}

TEST(OrderRisk, IsTheSameForAnyNumberOfThreadsAndChangesWithTheSeed) {
    const Lumen native = testing::lumen(narrow_bend());
    const Uncertainty uncertainty = plain_uncertainty(native);
    const double depth = native.depth_mm.back() - 0.5;
    const std::vector<OrderStep> steps{rotary_step(0.20, 0.03, depth)};
    const auto with = [&](unsigned threads, std::uint64_t seed) {
        const auto risk = order_risk(native, steps, uncertainty, {}, {60, seed, threads});
        EXPECT_TRUE(risk);
        std::string text;
        for (const Risk& one : risk->risks) {
            text += to_string(one.kind) + " " + std::to_string(one.probability) + " " +
                    std::to_string(one.median) + " " + std::to_string(one.driver_share) + "\n";
        }
        return text;
    };
    EXPECT_EQ(with(1, 1), with(2, 1));
    EXPECT_NE(with(2, 1), with(2, 2));
}

TEST(OrderRisk, NamesTheInputThatDecides) {
    CanalShape shape = narrow_bend();
    shape.wall_mm = 0.5;
    const Lumen native = testing::lumen(shape);
    Uncertainty uncertainty = plain_uncertainty(native);
    uncertainty.wall_sd_mm = 0.2;
    const auto risk = order_risk(native, {rotary_step(0.25, 0.04, native.depth_mm.back() - 0.5)},
                                 uncertainty, {}, {300, 1, 0});
    ASSERT_TRUE(risk);
    const Risk* wall = find(*risk, RiskKind::ThinWall);
    ASSERT_NE(wall, nullptr);
    ASSERT_TRUE(wall->driver);
    EXPECT_EQ(wall->driver->what, "the thickness of the wall");
    EXPECT_GT(wall->driver_share, 0.8);
    EXPECT_GT(wall->probability, 0.02);
    EXPECT_LT(wall->low, wall->probability);
    EXPECT_GT(wall->high, wall->probability);
    EXPECT_GE(risk->any, wall->probability);
}

// The depth of the foramen is normal: P(beyond 0.5 mm) at a deviation of 0.5 mm is 1 - Phi(1) =
// 0.159.
TEST(OrderRisk, OfPassingTheForamenIsThatOfANormalVariable) {
    CanalShape shape;
    shape.length_mm = 4;
    const Lumen native = testing::lumen(shape);
    Uncertainty uncertainty = plain_uncertainty(native);
    uncertainty.depth_sd_mm = 0.5;
    const auto risk = order_risk(native, {rotary_step(0.10, 0.02, native.depth_mm.back() - 0.5)},
                                 uncertainty, {}, {1000, 1, 0});
    ASSERT_TRUE(risk);
    for (const Risk& one : risk->risks) {
        if (one.kind != RiskKind::Overshoot) continue;
        // Three standard errors of a thousand samples.
        EXPECT_NEAR(one.probability, 0.1587, 3 * std::sqrt(0.1587 * 0.8413 / 1000));
        EXPECT_EQ(one.driver->what, "the depth of the foramen");
        return;
    }
    FAIL() << "no risk of passing the foramen";
}

// A stiff steep file that is turned in a narrow bend: it binds and its tip digs into the outer
// wall.
TEST(OrderRisk, CountsTwistAndLedgeAndNamesWhatDrivesThem) {
    const Lumen native = testing::lumen(narrow_bend());
    Device stiff = testing::file(0.25, 0.02, 16, DeviceKind::HandFile);
    stiff.material = NamedMaterial::StainlessSteel;
    OrderStep by_hand, by_motor = rotary_step(0.25, 0.04, native.depth_mm.back() - 0.5);
    by_hand.action = StepAction::Shape;
    by_hand.device = stiff;
    by_hand.depth_mm = native.depth_mm.back() - 0.5;
    OrderOptions limits;
    limits.ledge_angle_deg = 0.5;
    const auto risk =
        order_risk(native, {by_hand, by_motor}, plain_uncertainty(native), limits, {150, 1, 0});
    ASSERT_TRUE(risk);
    int seen = 0;
    for (const Risk& one : risk->risks) {
        if (one.kind != RiskKind::Twist && one.kind != RiskKind::Ledge) continue;
        ++seen;
        EXPECT_GT(one.to_95, 0) << to_string(one.kind);
        EXPECT_GT(one.probability, 0) << to_string(one.kind);
        EXPECT_TRUE(one.driver) << to_string(one.kind);
        EXPECT_EQ(one.limit, 1) << to_string(one.kind);
        EXPECT_GE(risk->any, one.probability);
    }
    EXPECT_EQ(seen, 2);
}

// A sample without an equilibrium once counted as one in which everything went well.
TEST(OrderRisk, CountsSamplesThatCannotBeWorkedOutInNoShare) {
    CanalShape shape;
    shape.straight_mm = 4;
    shape.arc_radius_mm = 0.8;
    shape.arc_deg = 300;
    shape.orifice_diameter_mm = 0.9;
    shape.foramen_diameter_mm = 0.3;
    const Lumen native = testing::lumen(shape);
    Uncertainty uncertainty = plain_uncertainty(native);
    uncertainty.bend_sd = 4;  // draws canals that curl up, which no device can be followed through
    OrderStep step = rotary_step(0.08, 0.02, native.depth_mm.back() - 0.5);
    step.device.kind = DeviceKind::HandFile;
    const int samples = 40;
    const auto risk = order_risk(native, {step}, uncertainty, {}, {samples, 1, 0});
    ASSERT_TRUE(risk);
    EXPECT_EQ(risk->samples, samples);
    EXPECT_GT(risk->unknown, 0);
    ASSERT_LT(risk->unknown, samples);
    const int known = samples - risk->unknown;
    for (const Risk& one : risk->risks) {
        const double hits = one.probability * known;
        EXPECT_NEAR(hits, std::round(hits), 1e-9) << to_string(one.kind);
    }
    EXPECT_NEAR(risk->any * known, std::round(risk->any * known), 1e-9);
}

TEST(OrderRisk, StatesNoSharesWhereNothingCanBeWorkedOut) {
    const Lumen native = testing::lumen(narrow_bend());
    OrderStep none = rotary_step(0.15, 0.02, native.depth_mm.back() - 0.5);
    none.device.length_mm = 0;
    const auto risk = order_risk(native, {none}, plain_uncertainty(native), {}, {20, 1, 0});
    ASSERT_TRUE(risk);
    EXPECT_EQ(risk->samples, 20);
    EXPECT_EQ(risk->unknown, 20);
    EXPECT_TRUE(risk->risks.empty());
}

// A file as wide as the canal cuts in narrow draws and not in wide ones: what is said of walls is
// of the draws that have one cut, of 1.5 mm give or take a tenth.
TEST(OrderRisk, StatesWallsOnlyOfSamplesInWhichSomeWasCut) {
    CanalShape shape;
    shape.length_mm = 8;
    shape.orifice_diameter_mm = 0.6;
    shape.foramen_diameter_mm = 0.15;
    const Lumen native = testing::lumen(shape);
    Uncertainty uncertainty = plain_uncertainty(native);
    const double depth = native.depth_mm.back() - 2.5;
    const auto risk =
        order_risk(native, {rotary_step(0.30, 0, depth)}, uncertainty, {}, {80, 1, 0});
    ASSERT_TRUE(risk);
    EXPECT_EQ(risk->unknown, 0);
    const Risk* wall = find(*risk, RiskKind::ThinWall);
    ASSERT_NE(wall, nullptr);
    EXPECT_GT(wall->from_5, 1);
    EXPECT_LT(wall->to_95, 2);
    EXPECT_LT(wall->from_5, wall->to_95);
    EXPECT_EQ(wall->probability, 0);
}

TEST(OrderRisk, StopsWhenItIsToldTo) {
    const Lumen native = testing::lumen(narrow_bend());
    Progress progress;
    progress.cancel();
    const auto risk = order_risk(native, {rotary_step(0.2, 0.02, 14)}, plain_uncertainty(native),
                                 {}, {}, progress);
    ASSERT_FALSE(risk);
    EXPECT_EQ(risk.error().code, ErrorCode::Cancelled);
}

}  // namespace
}  // namespace anfract
