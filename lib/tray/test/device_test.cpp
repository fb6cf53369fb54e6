#include "anfract/tray/device.h"

#include <gtest/gtest.h>

namespace anfract {
namespace {

Device file(double tip_mm, double taper) {
    Device device;
    device.tip_mm = tip_mm;
    device.taper = taper;
    device.working_part_mm = 16;
    device.length_mm = 25;
    return device;
}

// Arithmetic of the taper: d(x) = d0 + taper x [ISO3630-1].
TEST(Device, Size025Taper02HasTheDiametersOfTheStandard) {
    const Device device = file(0.25, 0.02);
    EXPECT_DOUBLE_EQ(device.diameter_mm_at(0), 0.25);
    EXPECT_DOUBLE_EQ(device.diameter_mm_at(1), 0.27);
    EXPECT_DOUBLE_EQ(device.diameter_mm_at(3), 0.31);
    EXPECT_DOUBLE_EQ(device.diameter_mm_at(16), 0.57);
}

TEST(Device, Size025Taper06Is121WideAtTheEndOfTheWorkingPart) {
    EXPECT_DOUBLE_EQ(file(0.25, 0.06).diameter_mm_at(16), 1.21);
}

TEST(Device, KeepsTheLastDiameterAboveTheWorkingPartUnlessAShaftIsGiven) {
    Device device = file(0.25, 0.06);
    EXPECT_DOUBLE_EQ(device.diameter_mm_at(20), 1.21);
    device.shaft_mm = 1.0;
    EXPECT_DOUBLE_EQ(device.diameter_mm_at(16), 1.21);
    EXPECT_DOUBLE_EQ(device.diameter_mm_at(20), 1.0);
}

TEST(Device, ATableOfDiametersReplacesTipAndTaper) {
    Device device = file(0.25, 0.06);
    device.diameters_mm = {{0, 0.2}, {4, 0.4}, {10, 0.5}};
    EXPECT_DOUBLE_EQ(device.diameter_mm_at(-1), 0.2);
    EXPECT_DOUBLE_EQ(device.diameter_mm_at(2), 0.3);
    EXPECT_DOUBLE_EQ(device.diameter_mm_at(7), 0.45);
    EXPECT_DOUBLE_EQ(device.diameter_mm_at(12), 0.5);
}

/// Distance (mm) short of working length at which a straight device of width `outside_mm` first
/// touches a canal prepared to `size_mm` at the end with `taper`; negative: it passes.
double short_of_length_mm(const Device& preparation, double outside_mm) {
    return (outside_mm - preparation.diameter_mm_at(0)) / preparation.taper;
}

// Arithmetic: x = (OD - d0) / taper.
TEST(Device, ACannulaStopsWhereThePreparedTaperIsAsWideAsIt) {
    struct Case {
        double size, taper, outside, expected;
    };
    for (const Case& c : {Case{0.30, 0.04, 0.32, 0.50},
                          {0.30, 0.04, 0.42, 3.00},
                          {0.25, 0.06, 0.32, 1.17},
                          {0.30, 0.06, 0.42, 2.00},
                          {0.35, 0.06, 0.42, 1.17},
                          {0.40, 0.04, 0.42, 0.50}}) {
        const Device preparation = file(c.size, c.taper);
        const double x = short_of_length_mm(preparation, c.outside);
        EXPECT_NEAR(x, c.expected, 0.005);
        EXPECT_NEAR(preparation.diameter_mm_at(x), c.outside, 1e-12);
    }
    EXPECT_LT(short_of_length_mm(file(0.45, 0.06), 0.42), 0);
}

// Arithmetic: dx = dd / taper, from the tolerances 0.05 mm of cones and 0.02 mm of files.
TEST(Device, ATolerantDiameterMovesThePlaceOfFitByItsErrorOverTheTaper) {
    struct Case {
        double taper, cone, instrument;
    };
    for (const Case& c : {Case{0.02, 2.50, 1.00}, {0.04, 1.25, 0.50}, {0.06, 0.83, 0.33}}) {
        const Device nominal = file(0.25, c.taper);
        const double place = 4.0;
        const double width = nominal.diameter_mm_at(place);
        EXPECT_NEAR(place - short_of_length_mm(file(0.30, c.taper), width), c.cone, 0.005);
        EXPECT_NEAR(place - short_of_length_mm(file(0.27, c.taper), width), c.instrument, 0.005);
    }
}

}  // namespace
}  // namespace anfract
