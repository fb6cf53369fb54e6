#include <gtest/gtest.h>

#include "canal_fit.h"

namespace anfract::tracing {
namespace {

/// 3 mm across at the height of the orifice and 10 mm down, the first of them `head_mm` wide.
FittedCanal across_and_down(double head_mm) {
    FittedCanal canal = unfitted(Polyline({Vec3(-3, 0, 0), Vec3(0, 0, 0), Vec3(0, 0, -10)}));
    for (FittedSection& section : canal.sections)
        section.diameter_mm = section.station.point_P.z() > -0.5 ? head_mm : 0.4;
    return canal;
}

// In a low chamber a palatal canal was once led to and fro for 5 mm before it went down, and its
// depth stated as so much more.
TEST(FittedCanal, LeavesOutWhatRunsAcrossTheChamber) {
    FittedCanal canal = across_and_down(2.2);
    const Vec3 end_P = canal.sections.back().station.point_P;
    leave_chamber(Vec3(0, 0, 1), canal);
    EXPECT_NEAR(canal.sections.front().station.point_P.x(), 0, 0.25);
    EXPECT_EQ(canal.sections.front().station.s_mm, 0);
    EXPECT_NEAR(canal.sections.back().station.s_mm, 10, 0.25);
    EXPECT_EQ(canal.sections.back().station.point_P, end_P);
}

TEST(FittedCanal, KeepsANarrowCanalThatBeginsAcrossTheRoot) {
    FittedCanal canal = across_and_down(0.5);
    leave_chamber(Vec3(0, 0, 1), canal);
    EXPECT_NEAR(canal.sections.back().station.s_mm, 13, 0.01);
}

}  // namespace
}  // namespace anfract::tracing
