#include "anfract/passage/rehearse.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "anfract/tray/tray_file.h"
#include "canals.h"

namespace anfract {
namespace {

using test::canal_of;
using test::CanalShape;
using test::rod;
using testing::HasSubstr;
using testing::Not;

Lumen lumen(const CanalShape& shape) { return *lumen_of(canal_of(shape)); }

TEST(Rehearse, ASlenderRodComesToTheForamen) {
    const auto passage = rehearse(lumen({}), rod(0.15, 60000, 20));
    ASSERT_TRUE(passage) << passage.error().sentence();
    EXPECT_EQ(passage->stopped_by, StoppedBy::Foramen);
    EXPECT_NEAR(passage->reaches_mm, 8 + 6 + 5 * std::numbers::pi / 4, 1e-3);
    EXPECT_EQ(passage->stop_setting_mm, 17.75);
    EXPECT_TRUE(passage->binds.empty());
    EXPECT_THAT(passage->why, HasSubstr("foramen"));
}

// Arithmetic: in a straight canal of taper 0.04 and 0.30 mm at the end, a cylinder of 0.42 mm stops
// 3 mm short and one of 0.32 mm half a millimetre short.
TEST(Rehearse, ACannulaStopsWhereTheCanalIsAsWideAsIt) {
    const Lumen straight =
        lumen({.straight_mm = 15, .angle_deg = 0, .wide_mm = 0.9, .narrow_mm = 0.3});
    for (const auto& [outside, short_mm] : {std::pair{0.42, 3.0}, {0.32, 0.5}}) {
        const auto passage = rehearse(straight, rod(outside, 60000, 30));
        ASSERT_TRUE(passage);
        EXPECT_EQ(passage->stopped_by, StoppedBy::Width);
        EXPECT_NEAR(passage->reaches_mm, 23 - short_mm, 1e-3);
        EXPECT_NEAR(passage->stopped_at_mm, 23 - short_mm, 1e-3);
        EXPECT_FALSE(passage->binds.empty());
    }
}

TEST(Rehearse, ADeviceThatIsTooShortStopsAtItsLength) {
    const auto passage = rehearse(lumen({}), rod(0.15, 60000, 16));
    ASSERT_TRUE(passage);
    EXPECT_EQ(passage->stopped_by, StoppedBy::Length);
    EXPECT_DOUBLE_EQ(passage->reaches_mm, 15);  // 1 mm is left for the stop
}

TEST(Rehearse, ATipWiderThanTheOrificeStaysThere) {
    const auto passage = rehearse(lumen({}), rod(0.7, 60000, 25));
    ASSERT_TRUE(passage);
    EXPECT_EQ(passage->stopped_by, StoppedBy::Width);
    EXPECT_DOUBLE_EQ(passage->reaches_mm, 8);
    EXPECT_THAT(passage->why, HasSubstr("0.70 mm wide and the canal 0.60 mm"));
}

TEST(Rehearse, AFileCutsUpToItsAllowanceAndBindsThere) {
    const Lumen straight =
        lumen({.straight_mm = 12, .angle_deg = 0, .wide_mm = 0.5, .narrow_mm = 0.2});
    Device file = rod(0.25, 60000, 25);
    file.kind = DeviceKind::RotaryFile;
    RehearsalOptions none;
    none.cut_allowance_mm = 0;
    const auto touching = rehearse(straight, file, none);
    RehearsalOptions some;
    some.cut_allowance_mm = 0.04;
    const auto cutting = rehearse(straight, file, some);
    ASSERT_TRUE(touching && cutting);
    // The canal narrows by 0.025 mm per mm.
    EXPECT_NEAR(touching->reaches_mm, 20 - 0.05 / 0.025, 1e-3);
    EXPECT_NEAR(cutting->reaches_mm, 20 - 0.01 / 0.025, 1e-3);
    ASSERT_EQ(cutting->binds.size(), 1u);
    EXPECT_NEAR(cutting->binds[0].first, 20 - 0.06 / 0.025, 0.1);
    EXPECT_NEAR(cutting->binds[0].second, cutting->reaches_mm, 1e-6);
}

// Common practice, no source: a stainless plugger goes to the start of the curve and stops; a
// nickel-titanium one goes round it.
TEST(Rehearse, ASteelPluggerStopsAtTheCurveAndANitiOnePasses) {
    const Lumen shaped = lumen({.radius_mm = 6, .angle_deg = 40, .wide_mm = 1.0, .narrow_mm = 0.5});
    Device plugger = rod(0.4, 0, 25);
    plugger.kind = DeviceKind::Plugger;
    plugger.taper = 0.02;
    plugger.working_part_mm = 16;
    plugger.material = NamedMaterial::StainlessSteel;
    const auto steel = rehearse(shaped, plugger);
    plugger.material = NamedMaterial::NitiAustenitic;
    const auto niti = rehearse(shaped, plugger);
    ASSERT_TRUE(steel && niti);
    EXPECT_TRUE(steel->stopped_by == StoppedBy::Stiffness || steel->stopped_by == StoppedBy::Strain)
        << steel->why;
    EXPECT_GT(steel->reaches_mm, 14);        // the curve starts at 14 mm
    EXPECT_LT(steel->reaches_mm, 14 + 2.5);  // and is 4.2 mm long
    EXPECT_EQ(niti->stopped_by, StoppedBy::Foramen) << niti->why;
}

TEST(Rehearse, EveryDeviceOfTheGenericTrayGivesAFiniteAnswerInsideTheCanal) {
    for (const Access access : {Access::Axial, Access::Straight}) {
        const Lumen curved = lumen({.radius_mm = 3, .angle_deg = 60, .leg_mm = 1});
        RehearsalOptions options;
        options.access = access;
        for (const Device& device : generic_tray().devices) {
            const auto passage = rehearse(curved, device, options);
            ASSERT_TRUE(passage) << passage.error().sentence();
            EXPECT_GE(passage->reaches_mm, curved.depth_mm.front()) << device.id;
            EXPECT_LE(passage->reaches_mm, curved.depth_mm.back()) << device.id;
            EXPECT_LE(passage->stop_setting_mm, passage->reaches_mm + 1e-6) << device.id;
            EXPECT_TRUE(std::isfinite(passage->push_force_N)) << device.id;
            EXPECT_LT(passage->peak_strain, 0.2) << device.id;
            EXPECT_FALSE(passage->why.empty()) << device.id;
        }
    }
}

TEST(HoldAt, ReportsTheDeviceAtTheDepthAskedFor) {
    const auto passage = hold_at(lumen({}), rod(0.15, 60000, 25), 16);
    ASSERT_TRUE(passage);
    EXPECT_DOUBLE_EQ(passage->reaches_mm, 16);
    ASSERT_FALSE(passage->profile.depth_mm.empty());
    EXPECT_NEAR(passage->profile.depth_mm.back(), 16, 0.01);
    for (std::size_t i = 1; i < passage->profile.depth_mm.size(); ++i) {
        EXPECT_LE(passage->profile.depth_mm[i] - passage->profile.depth_mm[i - 1], 0.1);
    }
}

TEST(Rehearse, RefusesWhatHasNoExtent) {
    EXPECT_FALSE(rehearse(Lumen{}, rod(0.15, 60000, 25)));
    EXPECT_FALSE(rehearse(lumen({}), Device{}));
    RehearsalOptions options;
    options.friction = -1;
    EXPECT_FALSE(rehearse(lumen({}), rod(0.15, 60000, 25), options));
}

TEST(Rehearse, RefusesOptionsThatMeanNothing) {
    const double nan = std::nan("");
    const auto refused = [](const RehearsalOptions& options) {
        return !rehearse(lumen({}), rod(0.15, 60000, 25), options);
    };
    for (const double bad : {0.0, -1.0, nan}) {
        EXPECT_TRUE(refused({.max_push_N = bad}));
        EXPECT_TRUE(refused({.max_strain = bad}));
        EXPECT_TRUE(refused({.spacing_mm = bad}));
    }
    for (const double bad : {-0.1, nan}) {
        EXPECT_TRUE(refused({.cut_allowance_mm = bad}));
        EXPECT_TRUE(refused({.stop_room_mm = bad}));
    }
    EXPECT_TRUE(refused({.spacing_mm = 1e-9}));
}

TEST(Rehearse, OfADeviceThatLiesLooseTheNearestLimitIsToldWithItsFigures) {
    const auto held = hold_at(lumen({.angle_deg = 0}), rod(0.10, 60000, 25), 15);
    ASSERT_TRUE(held);
    EXPECT_GT(held->limit, 0);
    EXPECT_THAT(held->why, Not(HasSubstr("limit is 0.00")));
    EXPECT_THAT(held->why, Not(HasSubstr("inf")));
}

TEST(Rehearse, OnlyNickelTitaniumHasItsLawOfLife) {
    Device file = rod(0.15, 60000, 25);
    file.kind = DeviceKind::RotaryFile;
    const Lumen bent = lumen({});
    file.material = NamedMaterial::NitiAustenitic;
    EXPECT_TRUE(rehearse(bent, file)->cycles_to_failure);
    file.material = NamedMaterial::StainlessSteel;
    EXPECT_FALSE(rehearse(bent, file)->cycles_to_failure);
}

// A section ratio of 1e-300 once ended the program.
TEST(Rehearse, RefusesADeviceWithoutStiffness) {
    Device device = rod(0.15, 60000, 25);
    device.section.inertia_ratio = 1e-300;
    const auto passage = rehearse(lumen({}), device);
    ASSERT_FALSE(passage);
    EXPECT_EQ(passage.error().code, ErrorCode::BadInput);
    device.section.inertia_ratio = 1;
    device.bending_moment_45deg_mNm = 1e30;
    EXPECT_FALSE(rehearse(lumen({}), device));
}

// Its short axis between two of the 24 directions, a straight oval that a file fills once squeezed
// it: the wall between those sides was nearer than they were, and it took newtons to go on.
TEST(Rehearse, AStraightOvalThatAFileFillsTakesNoPush) {
    for (const double turned_deg : {0.0, 7.5, 30.0, 40.0}) {
        Canal canal =
            canal_of({.straight_mm = 12, .angle_deg = 0, .wide_mm = 0.4, .narrow_mm = 0.4});
        for (CanalSample& sample : canal.samples) {
            sample.diameter_long_mm = 0.8;
            sample.long_axis_deg = turned_deg;
        }
        Device file = rod(0.25, 75000, 25);
        file.kind = DeviceKind::RotaryFile;
        file.taper = 0.04;
        file.working_part_mm = 16;
        const auto passage = rehearse(*lumen_of(canal), file);
        ASSERT_TRUE(passage);
        EXPECT_EQ(passage->stopped_by, StoppedBy::Width) << turned_deg;
        EXPECT_LT(passage->push_force_N, 1e-3) << turned_deg;
    }
}

TEST(Rehearse, RefusesACanalThatSomewhereHasNoWidth) {
    Lumen none = *lumen_of(canal_of({}));
    const Device file = rod(0.10, 60000, 25);
    for (const double width : {0.0, -0.1, std::nan("")}) {
        none.radius_mm.row(20) = width;
        const auto reached = rehearse(none, file), held = hold_at(none, file, 12);
        ASSERT_FALSE(reached);
        ASSERT_FALSE(held);
        EXPECT_THAT(reached.error().sentence(), HasSubstr("no width at"));
    }
    none.radius_mm.setZero();
    EXPECT_FALSE(rehearse(none, file));
}

// A kink just below the orifice made the rounds swing ever farther; contacts there made the
// interior point method go round in a circle.
TEST(Rehearse, FindsTheEquilibriumOfEveryDeviceBelowAKink) {
    const Tray tray = generic_tray();
    for (const auto& [angle_deg, wide_mm] : {std::pair{50.0, 0.8}, {35.0, 0.5}}) {
        const Lumen kinked = *lumen_of(test::kinked_canal(angle_deg, 0.3, wide_mm));
        for (const Device& device : tray.devices) {
            const auto passage = rehearse(kinked, device);
            ASSERT_TRUE(passage) << device.id << ": " << passage.error().sentence();
            EXPECT_TRUE(std::isfinite(passage->push_force_N));
            EXPECT_LE(passage->reaches_mm, kinked.depth_mm.back() + 1e-9);
            // Inside the walls but for what their stiffness and a cutting device's allowance leave.
            for (std::size_t i = 0; i < passage->profile.depth_mm.size(); ++i) {
                const double depth = passage->profile.depth_mm[i];
                const double half = (wide_mm + (0.3 - wide_mm) * (depth - 8) / 13) / 2;
                EXPECT_LT(passage->profile.offset_P_mm[i].norm(), 1.02 * half) << device.id;
            }
        }
    }
}

/// A canal along z that winds by `amplitude_mm` with `wave_mm` in one plane.
Lumen wrinkled(double amplitude_mm, double wave_mm, double wide_mm) {
    Canal canal = canal_of({.straight_mm = 14,
                            .angle_deg = 0,
                            .wide_mm = wide_mm,
                            .narrow_mm = wide_mm,
                            .step_mm = 0.05});
    for (CanalSample& sample : canal.samples) {
        const double s = sample.depth_mm - 8;
        sample.point_P.x() = amplitude_mm * std::sin(2 * std::numbers::pi * s / wave_mm);
    }
    return *lumen_of(canal);
}

// A bar on a bed that gives by c for each N/mm follows a wave A sin(kz) of the bed by
// A / (1 + c EI k^4), the closed form of EI d4u/dz4 = (A sin(kz) - u) / c.
TEST(Rehearse, AFileThatTurnsCutsWrinklesAsABarLiesOnABedThatGives) {
    constexpr double amplitude = 0.01, wave = 2.3, k = 2 * std::numbers::pi / wave;
    // 300 turns a minute at 1 mm/s, friction 0.2, 100 to 500 N/mm^2, see cutting.h (from memory).
    const double c = std::numbers::pi * 0.2 * 5 / std::sqrt(100.0 * 500.0);
    for (const double diameter : {0.12, 0.18, 0.25}) {
        Device file = rod(diameter, 75000, 25);
        const Lumen canal = wrinkled(amplitude, wave, diameter - 0.01);
        const auto followed_by = [&](const Passage& passage) {
            double strain = 0;
            for (std::size_t i = 0; i < passage.profile.depth_mm.size(); ++i) {
                const double depth = passage.profile.depth_mm[i];
                if (depth > 12 && depth < 18) strain = std::max(strain, passage.profile.strain[i]);
            }
            return strain / (diameter / 2 * k * k * amplitude);
        };
        const double stiffness = 75000 * std::numbers::pi / 64 * std::pow(diameter, 4);
        const auto slid = hold_at(canal, file, 21.5);
        file.kind = DeviceKind::RotaryFile;
        const auto cut = hold_at(canal, file, 21.5);
        ASSERT_TRUE(slid && cut);
        // Nodes 0.09 mm apart see the wave to (k h)^2/12, 0.5 %.
        EXPECT_NEAR(followed_by(*slid), 1, 0.03) << diameter;
        EXPECT_NEAR(followed_by(*cut) * (1 + c * stiffness * std::pow(k, 4)), 1, 0.05) << diameter;
    }
}

// What the solver left behind where it found no equilibrium was once reported, pushes of 1e9 N
// among it, and so were depths that only a coarse answer let pass.
TEST(Rehearse, ReportsNothingButWhatKeepsItsLimitsAndSaysFromWhereOnNothingIsKnown) {
    const Lumen tangled = *lumen_of(test::tangled_canal());
    RehearsalOptions options;
    options.max_push_N = 2;
    options.max_strain = 0.06;
    const Tray tray = generic_tray();
    int unknown = 0;
    for (std::size_t i = 1; i < tray.devices.size(); i += 3) {
        const Device& device = tray.devices[i];
        const auto passage = rehearse(tangled, device, options);
        if (!passage) {
            EXPECT_EQ(passage.error().code, ErrorCode::NotConverged) << device.id;
            continue;
        }
        EXPECT_LE(passage->push_force_N, 2) << device.id;
        EXPECT_LE(passage->peak_strain, 0.06) << device.id;
        if (passage->stopped_by != StoppedBy::Unknown) continue;
        ++unknown;
        EXPECT_THAT(passage->why, HasSubstr("nothing is known of it from there on"));
        EXPECT_EQ(passage->stopped_at_mm, passage->reaches_mm);
    }
    EXPECT_GT(unknown, 0);
}

}  // namespace
}  // namespace anfract
