#include "buckling.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>

#include "anfract/passage/lumen.h"
#include "canals.h"
#include "fatigue.h"

namespace anfract {
namespace {

using test::rod;

// P = pi^2 E I / L^2 [Euler1744].
TEST(Buckling, OfAUniformColumnIsEulers) {
    const Device device = rod(0.25, 60000, 20);
    const double stiffness = 60000 * std::numbers::pi * std::pow(0.25, 4) / 64;
    EXPECT_NEAR(buckling_force_N(Beam(device), 5, 15),
                std::pow(std::numbers::pi / 10, 2) * stiffness,
                1e-3 * std::pow(std::numbers::pi / 10, 2) * stiffness);
}

// For a straight taper, I ~ x^4, w = x sin(c / x + const) solves the column, so P = pi^2 E sqrt(I1
// I2) / L^2.
TEST(Buckling, OfAConeFollowsItsClosedForm) {
    Device device = rod(0.1, 60000, 20);
    device.taper = 0.02;
    const auto inertia = [](double d) { return std::numbers::pi * std::pow(d, 4) / 64; };
    const double exact =
        std::pow(std::numbers::pi / 10, 2) * 60000 * std::sqrt(inertia(0.2) * inertia(0.4));
    EXPECT_NEAR(buckling_force_N(Beam(device), 5, 15), exact, 5e-3 * exact);
}

TEST(Buckling, NothingOutsideCannotBuckle) {
    EXPECT_EQ(buckling_force_N(Beam(rod(0.25, 60000, 20)), 5, 5),
              std::numeric_limits<double>::infinity());
}

// On the outer wall of a bend k a compression F presses with N = F k; put into F^2 = 4 EI N / c
// [DawsonPaslay1984, HeKyllingstad1995] it buckles at 4 EI k / c. Here k = 1/5 per mm, c = 0.1 mm.
TEST(Buckling, InsideABendIsThatOfARodPressedOnItsWall) {
    const test::CanalShape shape{
        .radius_mm = 5, .angle_deg = 60, .leg_mm = 1, .wide_mm = 0.45, .narrow_mm = 0.45};
    const Lumen lumen = *lumen_of(test::canal_of(shape), 0.05);
    const Guide guide(lumen);
    const Device device = rod(0.25, 60000, 30);
    RodState state;
    state.spacing_mm = 0.1;
    for (int i = 0; i < 3; ++i) {
        state.depth_mm.push_back(8 + shape.straight_mm + 2 + 0.1 * i);
        state.from_tip_mm.push_back(4 - 0.1 * i);
        state.contact_N.emplace_back(1, 0, 0);
        state.compression_N.push_back(10);
        state.curvature_per_mm.emplace_back(0.2, 0, 0);
    }
    const double stiffness = 60000 * std::numbers::pi * std::pow(0.25, 4) / 64;
    const double critical = 4 * stiffness * 0.2 / 0.1;
    EXPECT_NEAR(inner_buckling(guide, Beam(device), state).ratio, 10 / critical,
                0.01 * 10 / critical);
}

// A 025/.06 is 0.55 mm wide 5 mm from its tip, 5.5 % of strain round 5 mm (arithmetic), and is said
// to break there after 300 to 800 turns (from memory): both within the range, which is wider.
TEST(Fatigue, PassesThroughTheArrangementItIsTiedTo) {
    const double strain = (0.25 + 5 * 0.06) / (2 * 5.0);
    const CycleRange cycles = cycles_to_failure(strain, rod(0.25, 60000, 20));
    EXPECT_NEAR(cycles.median, std::sqrt(300.0 * 800), 1e-6);
    EXPECT_LT(cycles.low, 300);
    EXPECT_GT(cycles.high, 800);
}

// Halving strain: life x 5.66, 4.67, 3.45 for exponents -0.40, -0.45, -0.56 (arithmetic); the range
// opens as the published exponents [Cheung2007] differ.
TEST(Fatigue, HalvingTheStrainLengthensLifeByThePublishedExponents) {
    const Device device = rod(0.25, 60000, 20);
    const CycleRange at_tied = cycles_to_failure(tied_strain, device),
                     at_half = cycles_to_failure(tied_strain / 2, device),
                     at_twice = cycles_to_failure(tied_strain * 2, device);
    EXPECT_NEAR(at_half.median / at_tied.median, 4.67, 0.005);
    EXPECT_NEAR(at_half.low / at_tied.low, 3.45, 0.005);
    EXPECT_NEAR(at_half.high / at_tied.high, 5.66, 0.005);
    EXPECT_NEAR(at_tied.low / at_twice.low, 5.66, 0.005);
}

// Not used for the law: wire in rotating bending that goes through stress-induced martensite (here
// from 1 % of strain) lasts less than 1e5 turns [Tobushi1998]; fewer turns for the smaller radius
// and the larger instrument [Pruett1997]; endurance near 0.7 % (from memory), where lives of some
// 1e4 to 1e7 belong.
TEST(Fatigue, AgreesWithFindingsItWasNotTiedTo) {
    const Device device = rod(0.25, 60000, 20);
    for (const double strain : {0.01, 0.02, 0.05}) {
        EXPECT_LT(cycles_to_failure(strain, device).median, 1e5);
    }
    const auto turns = [&](double diameter_mm, double radius_mm) {
        return cycles_to_failure(diameter_mm / (2 * radius_mm), device).median;
    };
    EXPECT_LT(turns(0.3, 2), turns(0.3, 5));
    EXPECT_LT(turns(0.4, 5), turns(0.3, 5));
    const CycleRange endured = cycles_to_failure(0.007, device);
    EXPECT_GT(endured.low, 3e3);
    EXPECT_GT(endured.median, 1e4);
    EXPECT_LT(endured.median, 1e7);
}

}  // namespace
}  // namespace anfract
