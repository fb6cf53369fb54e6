#include "buckling.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>

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

// The placeholder law is tied to 300 turns at 3 % and halves of strain give 4.67 times the life.
TEST(Fatigue, FollowsThePlaceholderLaw) {
    const Device device = rod(0.25, 60000, 20);
    const CycleRange at_3 = cycles_to_failure(0.03, device),
                     at_1_5 = cycles_to_failure(0.015, device);
    EXPECT_NEAR(at_3.median, 300, 1e-6);
    EXPECT_NEAR(at_1_5.median / at_3.median, 4.67, 0.005);
    EXPECT_NEAR(at_3.high / at_3.low, 9, 1e-9);
    // 300 turns a minute for a minute use 300 turns.
    EXPECT_NEAR(300.0 * 60 / 60 / at_3.median, 1, 1e-9);
}

}  // namespace
}  // namespace anfract
