#include <gtest/gtest.h>

#include "anfract/shaping/order.h"
#include "test_lumens.h"

namespace anfract {
namespace {

TEST(Bends, AStraightCanalHasNone) {
    const Lumen lumen = testing::lumen({});
    EXPECT_EQ(bend_start_mm(lumen), lumen.depth_mm.back());
    EXPECT_LT(sharpest_bend_per_mm(lumen).value, 1e-6);
}

// The invented canal is exact: 6 mm straight from the orifice at 8 mm, then an arc of 5 mm radius.
TEST(Bends, AnArcBeginsWhereItBeginsAndHasItsRadius) {
    testing::CanalShape shape;
    shape.arc_radius_mm = 5;
    shape.arc_deg = 60;
    const Lumen lumen = testing::lumen(shape);
    // Tangents are compared half a millimetre to both sides, so the start is seen up to that much
    // early.
    EXPECT_NEAR(bend_start_mm(lumen), 14.0, 0.5);
    const AtDepth sharpest = sharpest_bend_per_mm(lumen);
    EXPECT_NEAR(1 / sharpest.value, 5.0, 0.02);
    EXPECT_GT(sharpest.depth_mm, 14.0);
}

TEST(Bends, ALargeRadiusIsNoBend) {
    testing::CanalShape shape;
    shape.arc_radius_mm = 40;
    shape.arc_deg = 10;
    const Lumen lumen = testing::lumen(shape);
    EXPECT_EQ(bend_start_mm(lumen), lumen.depth_mm.back());
}

}  // namespace
}  // namespace anfract
