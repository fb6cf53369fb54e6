#include "anfract/tooth/move_reference.h"

#include <gtest/gtest.h>

#include "canals.h"

namespace anfract {
namespace {

Tooth forked() {
    Tooth tooth;
    tooth.reference_P = {0, 0, -8};
    Canal main = canal_through(flat_curve({{10}}, 0.2), "MB");
    for (CanalSample& sample : main.samples) sample.depth_mm += 8;
    main.depth_to_foramen_mm = 18;
    Canal side = main;
    side.name = "ML";
    side.joins = Branching{"MB", 15};
    tooth.canals = {main, side};
    return tooth;
}

// By the definition of depth: straight to the orifice, then along the centreline.
TEST(MoveReference, EveryDepthGrowsByTheLongerWayToTheOrifice) {
    const Tooth moved = with_reference(forked(), {6, 0, -8});
    EXPECT_NEAR(moved.canals[0].samples.front().depth_mm, 10, 1e-12);  // 6, 8, 10
    EXPECT_NEAR(moved.canals[0].samples.back().depth_mm, 20, 1e-12);
    EXPECT_NEAR(moved.canals[0].depth_to_foramen_mm, 20, 1e-12);
    EXPECT_NEAR(moved.canals[1].joins->depth_mm, 17, 1e-12);
    EXPECT_EQ(moved.reference_P, Vec3(6, 0, -8));
    EXPECT_EQ(moved.canals[0].samples.back().point_P, forked().canals[0].samples.back().point_P);
}

TEST(MoveReference, ThereAndBackChangesNothing) {
    const Tooth before = forked();
    const Tooth after = with_reference(with_reference(before, {1, 2, -7}), before.reference_P);
    for (std::size_t i = 0; i < before.canals[0].samples.size(); ++i) {
        EXPECT_NEAR(after.canals[0].samples[i].depth_mm, before.canals[0].samples[i].depth_mm,
                    1e-12);
    }
}

}  // namespace
}  // namespace anfract
