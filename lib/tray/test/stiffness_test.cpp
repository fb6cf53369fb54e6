#include "anfract/tray/stiffness.h"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>

#include "anfract/tray/tray_file.h"

namespace anfract {
namespace {

Device rod(double diameter_mm) {
    Device device;
    device.material = LinearMaterial{60000};
    device.tip_mm = diameter_mm;
    device.working_part_mm = 16;
    device.length_mm = 25;
    return device;
}

TEST(Stiffness, OfARoundRodIsEPiD4Over64) {
    EXPECT_NEAR(computed_stiffness_Nmm2(rod(0.25), 5),
                60000 * std::numbers::pi * std::pow(0.25, 4) / 64, 1e-9);
}

TEST(Stiffness, OfATubeLeavesOutItsBore) {
    Device tube = rod(0.3112);
    tube.bore_mm = 0.159;
    const double solid = computed_stiffness_Nmm2(rod(0.3112), 5);
    EXPECT_NEAR(computed_stiffness_Nmm2(tube, 5) / solid, 1 - std::pow(0.159 / 0.3112, 4), 1e-12);
}

// Second moments of inscribed polygons by summing thin strips, against the ratios the tray uses.
TEST(Stiffness, SectionRatiosAgreeWithStripsOfThePolygon) {
    const Tray tray = generic_tray();
    const auto strips = [](auto width) {
        double sum = 0;
        constexpr int n = 20000;
        for (int i = 0; i < n; ++i) {
            const double y = -1 + 2 * (i + 0.5) / n;
            sum += y * y * width(y) * 2 / n;
        }
        return sum / (std::numbers::pi / 4);
    };
    const double side = std::sqrt(2.0);
    const double square = strips([side](double y) { return std::abs(y) < side / 2 ? side : 0.0; });
    // Corner at y = 1, base at y = -1/2; its centroid is at 0.
    const double triangle =
        strips([](double y) { return y < -0.5 ? 0.0 : 2 * (1 - y) / std::sqrt(3.0); });
    EXPECT_NEAR(tray.find("hand-025-25")->section.inertia_ratio, square, 1e-4);
    EXPECT_NEAR(tray.find("rotary-025-04-25")->section.inertia_ratio, triangle, 1e-4);
}

// A uniform cantilever with an end load turns its chord by F l^2 / (3 E I): M0 = (pi/4) 3 E I / l.
TEST(BendingTest, OfAUniformRodFollowsTheCantileverFormula) {
    const double stiffness = computed_stiffness_Nmm2(rod(0.25), 5);
    EXPECT_NEAR(bending_test_moment_mNm(rod(0.25)), std::numbers::pi / 4 * 3 * stiffness / 13,
                1e-3);
}

TEST(BendingTest, AMeasuredMomentIsGivenBack) {
    Device device = rod(0.25);
    device.bending_moment_45deg_mNm = 3.0;
    const double scale = bending_test_scale(device);
    EXPECT_NEAR(scale * bending_test_moment_mNm(rod(0.25)), 3.0, 1e-9);
}
// Largest bending moments at 45 degrees for stainless hand files, [ISO3630-1], from memory, mN m.
// Files must keep below them; the computed moment must do so too, and not vanish beside them.
TEST(BendingTest, ComputedHandFilesKeepBelowTheLimitsOfTheStandard) {
    struct Limit {
        const char* id;
        double moment_mNm;
    };
    const Tray tray = generic_tray();
    for (const Limit& limit : std::array<Limit, 6>{{{"hand-015-25", 4.9},
                                                    {"hand-020-25", 7.8},
                                                    {"hand-025-25", 11.8},
                                                    {"hand-030-25", 14.7},
                                                    {"hand-035-25", 18.6},
                                                    {"hand-040-25", 24.5}}}) {
        const double computed = bending_test_moment_mNm(*tray.find(limit.id));
        RecordProperty(limit.id, std::to_string(computed));
        // degrees.
        EXPECT_GT(computed, 0.2 * limit.moment_mNm) << limit.id;
        EXPECT_LT(computed, limit.moment_mNm) << limit.id;
    }
}

}  // namespace
}  // namespace anfract
