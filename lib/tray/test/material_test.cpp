#include "anfract/tray/material.h"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>

namespace anfract {
namespace {

constexpr std::array named{NamedMaterial::StainlessSteel,  NamedMaterial::NitiAustenitic,
                           NamedMaterial::NitiMartensitic, NamedMaterial::GuttaPercha,
                           NamedMaterial::Paper,           NamedMaterial::Polymer};

TEST(Material, EveryNamedMaterialHasAModulusALimitAndASource) {
    for (const NamedMaterial material : named) {
        const MaterialFacts facts = facts_of(material);
        EXPECT_GT(facts.modulus_MPa, 0);
        ASSERT_TRUE(facts.elastic_limit_strain);
        EXPECT_GT(*facts.elastic_limit_strain, 0);
        EXPECT_FALSE(facts.source.empty());
    }
}

TEST(Material, TablesStartWithTheModulus) {
    for (const NamedMaterial material : named) {
        const MaterialFacts facts = facts_of(material);
        if (facts.strain_stress_MPa.empty()) continue;
        const auto& [strain, stress] = facts.strain_stress_MPa[1];
        EXPECT_NEAR(stress / strain, facts.modulus_MPa, 1e-6 * facts.modulus_MPa);
    }
}

// Stainless size 020 has 0.26 mm at 3 mm: with a limit of 0.8 % it stays straight down to R = d /
// (2 eps).
TEST(Material, AStainlessSize020IsBentForGoodBelowARadiusOf16mm) {
    EXPECT_NEAR(0.26 / (2 * *facts_of(NamedMaterial::StainlessSteel).elastic_limit_strain), 16.25,
                1e-9);
}

/// Elastic to 0.8 %, then flowing.
const TabulatedMaterial plastic{{{0, 0}, {0.008, 1544}, {0.12, 1544}}};

TEST(MomentLaw, IsOneForALinearMaterialAndBelowTheElasticLimit) {
    EXPECT_TRUE(MomentLaw(LinearMaterial{1000}).linear());
    EXPECT_EQ(MomentLaw(LinearMaterial{1000}).secant(0.05), 1.0);
    const MomentLaw steel(NamedMaterial::StainlessSteel);
    EXPECT_NEAR(steel.secant(0.004), 1.0, 1e-4);
}

/// Moment of an elastic-perfectly-plastic round bar over its elastic moment, t = yield strain /
/// surface strain:
///     M/M_el = (2/pi) ( asin(t) + t (5 - 2 t^2)/3 sqrt(1 - t^2) ), and M_p/M_y = 16/(3 pi) as t ->
///     0 (over t).
/// Integrated by hand from M = integral sigma y dA; the limit 16/(3 pi) = 1.698 is the textbook
/// shape factor of a round bar.
double softening_of_plastic_bar(double t) {
    return 2 / std::numbers::pi * (std::asin(t) + t * (5 - 2 * t * t) / 3 * std::sqrt(1 - t * t));
}

TEST(MomentLaw, AgreesWithTheClosedFormForAnElasticPlasticBar) {
    const MomentLaw steel(plastic);
    for (const double eps : {0.009, 0.012, 0.016, 0.025, 0.04, 0.08, 0.11}) {
        EXPECT_NEAR(steel.secant(eps), softening_of_plastic_bar(0.008 / eps), 0.002) << eps;
    }
    EXPECT_NEAR(steel.secant(0.11) / (0.008 / 0.11), 16 / (3 * std::numbers::pi), 0.01);
}

TEST(MomentLaw, TheMomentNeverFallsAsTheBendGrows) {
    for (const NamedMaterial material : named) {
        const MomentLaw law(material);
        double last = 0;
        for (double eps = 0.001; eps < 0.2; eps += 0.001) {
            const double moment = law.secant(eps) * eps;
            EXPECT_GE(moment, last * (1 - 1e-9)) << eps;
            last = moment;
        }
    }
}

TEST(MomentLaw, TangentAndEnergyBelongToTheMoment) {
    const MomentLaw law(NamedMaterial::NitiAustenitic);
    for (const double eps : {0.003, 0.01, 0.03, 0.07}) {
        const auto moment = [&law](double e) { return law.secant(e) * e; };
        const auto stored = [&law](double e) { return law.energy(e) * e * e / 2; };
        // The moment is interpolated linearly over steps of 0.0005, hence the tolerances.
        EXPECT_NEAR(law.tangent(eps), (moment(eps + 1e-3) - moment(eps - 1e-3)) / 2e-3, 0.02)
            << eps;
        EXPECT_NEAR((stored(eps + 1e-3) - stored(eps - 1e-3)) / 2e-3 / moment(eps), 1, 0.01) << eps;
    }
}

// The fully plastic moment of a tube over that of its elastic limit is 16 (1 - b^3) / (3 pi (1 -
// b^4)).
TEST(MomentLaw, ATubeHasItsOwnShapeFactor) {
    const double b = 0.5;
    const MomentLaw tube(plastic, b);
    const double shape = 16 * (1 - b * b * b) / (3 * std::numbers::pi * (1 - b * b * b * b));
    EXPECT_NEAR(tube.secant(0.11) / (0.008 / 0.11), shape, 0.01 * shape);
}

// Strain-life law eps = C N^b: halving the strain multiplies the life by 2^(-1/b).
TEST(StrainLife, HalvingTheStrainMultipliesTheLifeAsTheExponentSays) {
    EXPECT_NEAR(std::pow(0.5, 1 / -0.40), 5.66, 0.005);
    EXPECT_NEAR(std::pow(0.5, 1 / -0.45), 4.67, 0.005);
    EXPECT_NEAR(std::pow(0.5, 1 / -0.56), 3.45, 0.005);
}

}  // namespace
}  // namespace anfract
