#include "unloading.h"

#include <gtest/gtest.h>

#include "anfract/passage/rehearse.h"
#include "canals.h"
#include "details.h"

namespace anfract {
namespace {

Device bar_of(NamedMaterial material) {
    Device device = test::rod(0.25, 0, 25);
    device.material = material;
    return device;
}

/// Integral over [from, to] of (c0 + c1 t) t sqrt(1 - t^2), by its primitive.
double piece(double c0, double c1, double from, double to) {
    const auto primitive = [&](double t) {
        const double root = std::sqrt(1 - t * t);
        return -c0 * root * root * root / 3 + c1 * (std::asin(t) - t * root * (1 - 2 * t * t)) / 8;
    };
    return primitive(to) - primitive(from);
}

// The law of the fibres (379 MPa at 75 GPa, 479 at 6 %, back at 138: tray.md) bent to 5 % and let
// back to half: elastic inside, falling by the modulus, then on the lower plateau; each straight
// in t, so that the section's integral is closed.
TEST(Unloading, OfASuperelasticBarIsTheIntegralOfItsFibresInClosedForm) {
    constexpr double E = 75000, most = 0.05, strain = 0.025, begins = 379 / E;
    constexpr double rise = 100 / (0.06 - begins);
    const double leaves = begins / most;
    const double lower = (379 - 138) / ((E - rise) * (most - strain));
    const double sum =
        piece(0, E * strain, 0, leaves) +
        piece(379 - rise * begins, rise * most - E * (most - strain), leaves, lower) +
        piece(138 - rise * begins, rise * strain, lower, 1);
    const double expected = 8 / (std::numbers::pi * most * E) * 2 * sum;
    const Device device = bar_of(NamedMaterial::NitiAustenitic);
    const Beam beam(device);
    EXPECT_NEAR(unloading_moment(beam, strain, most), expected, 1e-3 * expected);
    // From the loading side it starts, and it ends where the plateaus give no moment.
    EXPECT_NEAR(unloading_moment(beam, most, most), beam.curve().at(most).secant, 2e-3);
    EXPECT_NEAR(unloading_moment(beam, 0, most), 0, 1e-9);
    EXPECT_EQ(kept_strain(beam, most), 0);
    // Beyond the yield of martensite, 6.96 %, something stays.
    EXPECT_GT(kept_strain(beam, 0.11), 0.005);
    EXPECT_LT(kept_strain(beam, 0.11), 0.11 - 0.0696);
}

TEST(Unloading, OfSteelKeepsWhatAPreBendIsMadeFor) {
    const Device device = bar_of(NamedMaterial::StainlessSteel);
    const Beam beam(device);
    const double radius = 0.125, kept_per_mm = 0.1;
    const double bend = bend_that_keeps(beam, kept_per_mm, radius);
    EXPECT_NEAR(kept_strain(beam, bend * radius), kept_per_mm * radius, 1e-6);
    EXPECT_EQ(kept_strain(beam, 0.005), 0);
}

// Common practice, no source: steel keeps the bend of a curved canal, superelastic alloy does not,
// heat-treated alloy does.
TEST(Unloading, IsSaidOfWhatIsDrawnOutOfACurvedCanal) {
    const Lumen bent = *lumen_of(test::canal_of({}));
    const auto drawn = [&](NamedMaterial material) {
        return hold_at(bent, bar_of(material), 17)->withdrawal;
    };
    const auto steel = drawn(NamedMaterial::StainlessSteel);
    const auto superelastic = drawn(NamedMaterial::NitiAustenitic);
    const auto treated = drawn(NamedMaterial::NitiMartensitic);
    ASSERT_TRUE(steel && superelastic && treated);
    EXPECT_TRUE(steel->set_radius_mm);
    EXPECT_FALSE(superelastic->set_radius_mm);
    EXPECT_TRUE(treated->set_radius_mm);
    EXPECT_LT(superelastic->moment_at_half_mNm, 0.6 * superelastic->moment_mNm);
    EXPECT_GT(superelastic->moment_at_half_mNm, 0);
    EXPECT_FALSE(hold_at(bent, test::rod(0.25, 60000, 25), 17)->withdrawal);
}

}  // namespace
}  // namespace anfract
