#include "details.h"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>

#include "anfract/base/json_document.h"
#include "anfract/passage/life.h"
#include "anfract/passage/passage_file.h"
#include "anfract/passage/rehearse.h"
#include "canals.h"
#include "moment_curve.h"
#include "torsion.h"

namespace anfract {
namespace {

using test::canal_of;
using test::CanalShape;
using test::rod;

Device hand_file(double tip_mm, double taper) {
    Device file = rod(tip_mm, 0, 25);
    file.kind = DeviceKind::HandFile;
    file.material = NamedMaterial::StainlessSteel;
    file.taper = taper;
    file.working_part_mm = 16;
    file.shaft_mm = tip_mm + 16 * taper;
    return file;
}

// Textbook: moment of a round bar is the integral of sigma(eps y) y over its section; here by
// strips of the superelastic table, independently of the program's angle rule.
TEST(MomentCurve, OfASuperelasticBarIsTheIntegralOverItsSection) {
    const Material alloy = NamedMaterial::NitiAustenitic;
    const MomentCurve curve{MomentLaw(alloy)};
    const MaterialFacts facts = facts_of(alloy);
    const auto stress = [&](double strain) {
        double value = facts.strain_stress_MPa.back().second;
        for (std::size_t i = 1; i < facts.strain_stress_MPa.size(); ++i) {
            const auto& [e0, s0] = facts.strain_stress_MPa[i - 1];
            const auto& [e1, s1] = facts.strain_stress_MPa[i];
            if (strain <= e1) return s0 + (s1 - s0) * (strain - e0) / (e1 - e0);
        }
        return value;
    };
    for (const double strain : {0.004, 0.0123, 0.031, 0.055}) {
        constexpr int strips = 20000;
        double moment = 0;
        for (int i = 0; i < strips; ++i) {
            const double y = (i + 0.5) / strips;
            moment += 4 * stress(strain * y) * y * std::sqrt(1 - y * y) / strips;
        }
        const double expected = moment / (facts.modulus_MPa * std::numbers::pi / 4);
        EXPECT_NEAR(curve.at(strain).secant * strain, expected, 2e-3 * expected) << strain;
    }
    // Energy is the integral of moment, tangent its derivative.
    const double low = 0.0301, high = 0.0304;
    EXPECT_NEAR((curve.at(high).energy - curve.at(low).energy) / (high - low),
                curve.at(0.03025).secant * 0.03025, 1e-9);
    EXPECT_NEAR((curve.at(high).secant * high - curve.at(low).secant * low) / (high - low),
                curve.at(0.03025).tangent, 1e-9);
}

// A turn of a bent bar, fibre by fibre on a polar grid.
TEST(Torsion, HysteresisOfATurnIsTheLoopsOfItsFibres) {
    const double strain = 0.04, radius = 0.2, begins = 379.0 / 75000;
    double energy = 0;
    constexpr int rings = 2000;
    for (int i = 0; i < rings; ++i) {
        const double rho = (i + 0.5) / rings * radius;
        const double fibre = strain * rho / radius;
        energy += 2 * (379 - 138) * std::max(0.0, fibre - begins) * 2 * std::numbers::pi * rho *
                  radius / rings;
    }
    EXPECT_NEAR(loop_energy_N(strain, radius), energy, 1e-4 * energy);
    EXPECT_EQ(loop_energy_N(begins, radius), 0);
}

// [ISO3630-1], from memory: least torques 0.78 and 2.94 mN m of steel files 015 and 025, clamped at
// 3 mm.
TEST(Torsion, OfSteelFilesBeginsAtTheStandardsLeastValues) {
    const Device file = hand_file(0.15, 0.02);
    EXPECT_NEAR(fracture_torque_Nmm(file, 0.21).first, 0.78, 0.02);
    EXPECT_NEAR(fracture_torque_Nmm(file, 0.31).first, 2.94, 0.5);
}

// A cone advanced by dz takes away the difference of two frustums: V' = pi/4 (D^2 - d^2) over what
// it fills, D and d its ends there (closed form). Work of a turn 2 pi T = k V' f.
TEST(Torsion, OfCuttingIsTheWorkOfTheVolumeTakenAway) {
    Device file = hand_file(0.25, 0.06);
    file.kind = DeviceKind::RotaryFile;
    file.material = NamedMaterial::NitiAustenitic;
    const Beam beam(file);
    // Tip at 20 mm, filled from 12 to 18: diameters 0.73 and 0.37 mm.
    const std::vector<std::pair<double, double>> binds{{12, 18}};
    const double volume = std::numbers::pi / 4 * (0.73 * 0.73 - 0.37 * 0.37);
    EXPECT_NEAR(cut_per_advance_mm2(beam, binds, 20), volume, 1e-3 * volume);
    RodState loose;
    loose.spacing_mm = 1;
    loose.from_tip_mm = {10, 0};
    loose.strain = {0, 0};
    loose.contact_N = {Vec3::Zero(), Vec3::Zero()};
    const Torsion torsion = torsion_of(beam, loose, binds, 20, 0.2);
    const double per_turn_mm = 1.0 / 5;  // 1 mm/s at 300 a minute
    EXPECT_NEAR(2 * std::numbers::pi * torsion.cutting_low_mNm, 100 * volume * per_turn_mm, 0.02);
    EXPECT_NEAR(torsion.cutting_high_mNm, 5 * torsion.cutting_low_mNm, 1e-9);
    // In the middle it is 0.55 mm wide, half angle 0.03: mu F r / (sin a + mu cos a).
    EXPECT_NEAR(torsion.lock_mNm, 0.2 * 3 * 0.275 / (0.03 + 0.2), 1e-3);
    EXPECT_NEAR(torsion.screw_in_low_N,
                torsion.cutting_low_mNm / 0.275 * std::tan(std::numbers::pi / 12), 1e-3);
    EXPECT_EQ(torsion_of(beam, loose, {}, 20, 0.2).cutting_high_mNm, 0);
}

// Published 5 to 12 mN m for a nickel-titanium 025/.06 at 3 mm, from memory.
TEST(Torsion, OfANickelTitaniumFileLiesInThePublishedRange) {
    Device file = rod(0.25, 0, 25);
    file.material = NamedMaterial::NitiAustenitic;
    const auto [low, high] = fracture_torque_Nmm(file, 0.25 + 3 * 0.06);
    EXPECT_NEAR(low, 5, 0.1);
    EXPECT_NEAR(high, 12, 0.1);
}

// Closed form of a bar that yields without hardening, far beyond yield: M -> 16/(3 pi) of the yield
// moment, so a bend of strain e keeps 1 - 16/(3 pi) e_y/e of itself; textbook.
TEST(PreBend, SpringsBackByTheElasticPartOfItsMoment) {
    Device file = hand_file(0.3, 0);
    file.material = TabulatedMaterial{{{0, 0}, {0.008, 1544}, {0.12, 1544}}};
    const Beam beam(file);
    const double radius = 0.15, target = 0.4;
    const double bend = bend_that_keeps(beam, target, radius);
    const double e_y = 0.008, strain = bend * radius;
    EXPECT_NEAR(bend - 16 / (3 * std::numbers::pi) * e_y / radius, target, 0.01 * target);
    EXPECT_GT(strain, 5 * e_y);
    // More than any bend keeps.
    EXPECT_TRUE(std::isinf(bend_that_keeps(beam, 1.0, radius)));
}

TEST(PreBend, IsSaidOfASteelHandFileInASharpCurveOnly) {
    const Lumen sharp = *lumen_of(canal_of({.radius_mm = 4, .angle_deg = 50, .leg_mm = 1}));
    const auto bent = rehearse(sharp, hand_file(0.1, 0.02));
    ASSERT_TRUE(bent);
    ASSERT_TRUE(bent->pre_bend);
    EXPECT_LT(bent->pre_bend->bend_to_radius_mm, bent->pre_bend->springs_to_radius_mm);
    EXPECT_GT(bent->pre_bend->set_radius_mm, bent->pre_bend->springs_to_radius_mm);
    const Lumen straight = *lumen_of(canal_of({.angle_deg = 0}));
    const auto kept = rehearse(straight, hand_file(0.1, 0.02));
    ASSERT_TRUE(kept);
    EXPECT_FALSE(kept->pre_bend);
}

// Two bends of 40 degrees at radius 4 mm, 4 mm of straight canal between: the file is bent by the
// angle of one of them, not all along both.
TEST(PreBend, IsForOneBendOfTwo) {
    constexpr double step_mm = 0.1, radius_mm = 4, angle = 40 * std::numbers::pi / 180;
    constexpr double arc_mm = radius_mm * angle;
    Canal canal;
    canal.name = "S";
    Vec3 p(0, 0, 0);
    for (int i = 0; i <= 150; ++i) {
        const double s = i * step_mm;
        CanalSample sample;
        sample.depth_mm = 8 + s;
        sample.point_P = p;
        sample.diameter_mm = 0.35;
        canal.samples.push_back(sample);
        const double turned = std::clamp(s - 3, 0.0, arc_mm) + std::clamp(s - 9.8, 0.0, arc_mm);
        p += step_mm * Vec3(std::sin(turned / radius_mm), 0, std::cos(turned / radius_mm));
    }
    const auto bent = rehearse(*lumen_of(canal), hand_file(0.1, 0.01));
    ASSERT_TRUE(bent && bent->pre_bend);
    const PreBend& bend = *bent->pre_bend;
    EXPECT_LT(bend.to_tip_mm - bend.from_tip_mm, 1.5 * arc_mm);
    const PassageProfile& profile = bent->profile;
    int highly = 0;
    for (std::size_t i = 0; i < profile.strain.size(); ++i) {
        const double from_tip = profile.depth_mm.back() - profile.depth_mm[i];
        const bool elsewhere = from_tip > bend.to_tip_mm + 1 || from_tip < bend.from_tip_mm - 1;
        if (profile.strain[i] > 0.009 && elsewhere) ++highly;
    }
    EXPECT_GT(highly, 5) << "the other bend is beyond the elastic limit too";
}

// Arithmetic: 0.05 mm of diameter is 0.05/0.04 = 1.25 mm of a cone of taper 0.04 where the canal is
// a cylinder below its mouth, and less where the canal tapers too: 0.05/(0.04 - 0.02) along a canal
// of taper 0.02 in which it binds at the orifice.
TEST(Fit, BandOfAConeIsItsToleranceOverItsTaper) {
    Device cone = rod(0.30, 500, 28);
    cone.kind = DeviceKind::Cone;
    cone.taper = 0.04;
    cone.working_part_mm = 28;
    cone.tolerance_mm = 0.05;
    const Lumen tube = *lumen_of(
        canal_of({.straight_mm = 14, .angle_deg = 0, .wide_mm = 0.6, .narrow_mm = 0.5999}));
    const auto passage = rehearse(tube, cone);
    ASSERT_TRUE(passage);
    ASSERT_TRUE(passage->fit);
    EXPECT_EQ(passage->stopped_by, StoppedBy::Width);
    EXPECT_NEAR(passage->reaches_mm - passage->fit->shallowest_mm, 1.25, 0.01);
    EXPECT_NEAR(passage->fit->deepest_mm - passage->reaches_mm, 1.25, 0.01);
}

// A taper lock, closed form: pushed in by F, a cone of half angle a holds against a pull of
// F (mu - tan a)/(mu + tan a), and slides out by itself where tan a is above mu.
TEST(TugBack, OfAConeInAStraightCanalIsThatOfATaperLock) {
    const Lumen lumen =
        *lumen_of(canal_of({.straight_mm = 12, .angle_deg = 0, .wide_mm = 0.5, .narrow_mm = 0.26}));
    for (const double taper : {0.04, 0.06}) {
        for (const double friction : {0.2, 0.4, 0.025}) {
            Device cone = rod(0.3, 0, 28);
            cone.kind = DeviceKind::Cone;
            cone.material = NamedMaterial::GuttaPercha;
            cone.taper = taper;
            RehearsalOptions options;
            options.friction = friction;
            options.max_push_N = 1.5;
            const auto passage = rehearse(lumen, cone, options);
            ASSERT_TRUE(passage && passage->tug_back);
            EXPECT_EQ(passage->stopped_by, StoppedBy::Width);
            const double expected =
                1.5 * std::max(0.0, (friction - taper / 2) / (friction + taper / 2));
            EXPECT_NEAR(passage->tug_back->force_N, expected, 1e-3) << taper << " " << friction;
            EXPECT_EQ(passage->tug_back->seated_with_N, 1.5);
            EXPECT_FALSE(passage->tug_back->range_N);
        }
    }
}

// A cone 0.05 mm thinner than stated is loose at a foramen that the one stated just fills.
TEST(TugBack, HasABandFromTheConesTolerance) {
    const Lumen bent = *lumen_of(canal_of({.wide_mm = 0.8, .narrow_mm = 0.3}));
    Device cone = rod(0.31, 0, 28);
    cone.kind = DeviceKind::Cone;
    cone.material = NamedMaterial::GuttaPercha;
    cone.taper = 0.04;
    cone.tolerance_mm = 0.05;
    const auto passage = rehearse(bent, cone);
    ASSERT_TRUE(passage && passage->tug_back && passage->tug_back->range_N);
    const auto [low, high] = *passage->tug_back->range_N;
    EXPECT_LT(low, 0.05);
    EXPECT_GT(passage->tug_back->force_N, 0.5);
    EXPECT_GE(high, passage->tug_back->force_N);
    EXPECT_LT(high, passage->tug_back->seated_with_N);
    // Held short of where it is wedged it has only its bending to rub with.
    const auto higher = hold_at(bent, cone, passage->reaches_mm - 1);
    ASSERT_TRUE(higher && higher->tug_back);
    EXPECT_LT(higher->tug_back->force_N, 0.05);
    EXPECT_FALSE(rehearse(bent, rod(0.2, 60000, 25))->tug_back);
}

TEST(Fit, AConeLooseAtTheForamenIsToBeTrimmedToItsWidth) {
    Device cone = rod(0.20, 500, 28);
    cone.kind = DeviceKind::Cone;
    cone.taper = 0.02;
    cone.working_part_mm = 28;
    cone.tolerance_mm = 0.05;
    const auto passage = rehearse(
        *lumen_of(canal_of({.straight_mm = 12, .angle_deg = 0, .wide_mm = 0.9, .narrow_mm = 0.3})),
        cone);
    ASSERT_TRUE(passage);
    ASSERT_TRUE(passage->fit && passage->fit->trim_mm);
    EXPECT_NEAR(*passage->fit->trim_mm, (0.30 - 0.20) / 0.02, 0.05);  // arithmetic
}

// A straight device led round a curve presses on its outer wall with the tip.
TEST(TipContact, OfAStiffFileInACurveIsAtTheOuterWall) {
    const CanalShape shape{.radius_mm = 5, .angle_deg = 45, .wide_mm = 0.6, .narrow_mm = 0.5};
    const auto held = hold_at(*lumen_of(canal_of(shape)), rod(0.2, 60000, 25), 16.5);
    ASSERT_TRUE(held);
    ASSERT_TRUE(held->tip);
    EXPECT_TRUE(held->tip->at_outer_wall);
    EXPECT_GT(held->tip->attack_deg, 0.5);
    EXPECT_GT(held->tip->side_force_N, 0.01);
}

// Miner's rule, textbook: 300 turns of 600 and 100 of 200 use one life.
TEST(Life, DamagesAddUp) {
    const CycleRange sum = damage_sum({{300, {300, 600, 1200}}, {100, {100, 200, 400}}});
    EXPECT_NEAR(sum.median, 1, 1e-12);
    EXPECT_NEAR(sum.low, 0.5, 1e-12);
    EXPECT_NEAR(sum.high, 2, 1e-12);
}

// [Plotino2017]: cooling from 20 to -20 degC raised cycles by 274 to 854 %.
TEST(Life, IsLongerInTheColdByThePublishedFactors) {
    const CycleRange cold = life_factor_of_temperature(-20);
    EXPECT_NEAR(cold.low, 3.74, 1e-9);
    EXPECT_NEAR(cold.high, 9.54, 1e-9);
    EXPECT_NEAR(life_factor_of_temperature(20).median, 1, 1e-12);
    EXPECT_LT(life_factor_of_temperature(35).high, 1);
}

TEST(PassageFile, WithAllDetailsIsValid) {
    Device file = hand_file(0.15, 0.02);
    file.tolerance_mm = 0.02;
    Device rotary = file;
    rotary.kind = DeviceKind::RotaryFile;
    rotary.material = NamedMaterial::NitiAustenitic;
    const Lumen sharp = *lumen_of(canal_of({.radius_mm = 4, .angle_deg = 50, .leg_mm = 1}));
    RehearsalOptions room;
    room.temperature_degC = 20;
    const auto plain = rehearse(sharp, rotary, room), hot = rehearse(sharp, rotary),
               hand = rehearse(sharp, file);
    ASSERT_TRUE(plain && hot && hand);
    EXPECT_LT(hot->cycles_to_failure->median, plain->cycles_to_failure->median);
    ASSERT_TRUE(plain->torsion);
    EXPECT_GT(plain->torsion->hysteresis_mNm, 0);
    const auto document = passages_to_json({*hot, *hand}, "36", true);
    EXPECT_TRUE(document["passages"][0].contains("torsion"));
    EXPECT_TRUE(document["passages"][1].contains("pre_bend"));
    const auto valid = parse_document(document.dump(), "anfract.passages", "test");
    EXPECT_TRUE(valid) << valid.error().sentence();
}

}  // namespace
}  // namespace anfract
