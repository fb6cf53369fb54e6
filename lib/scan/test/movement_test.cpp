#include "anfract/scan/movement.h"

#include <gtest/gtest.h>

#include <numbers>

#include "ball_scan.h"

namespace anfract {
namespace {

using test::ball_scan;
using test::BallScan;

/// A ball of dentine with room for the profiles of its edges.
BallScan still_head() {
    return {.radius_mm = 3,
            .voxel_mm = 0.125,
            .sigma_mm = 0.107,
            .noise_sd = 70,
            .noise_smoothing_voxels = 0.7,
            .around_mm = 2.2};
}

/// The mean, by time, of the ball before and after it moved: each blurred in closed form.
Brick moved_head(const Vec3& shift_P, double share) {
    Brick brick = ball_scan(still_head());
    BallScan after = still_head();
    after.offset_P = shift_P;
    after.noise_sd = 0;
    BallScan before = still_head();
    before.noise_sd = 0;
    const Brick first = ball_scan(before), second = ball_scan(after);
    for (std::size_t n = 0; n < brick.grey.size(); ++n)
        brick.grey[n] += float(share) * (second.grey[n] - first.grey[n]);
    return brick;
}

/// Between two lines, whichever way round.
double degrees_between(const Vec3& a, const Vec3& b) {
    return std::acos(std::min(std::abs(a.normalized().dot(b.normalized())), 1.0)) * 180 /
           std::numbers::pi;
}

}  // namespace

TEST(FindMovement, FindsHowFarAndWhichWayTheHeadMoved) {
    for (const Vec3& shift_P : {Vec3(0.8, 0, 0), Vec3(-0.5, 0.4, 0.3), Vec3(0.3, -1.1, 0.2)}) {
        const Result<Movement> movement = find_movement(moved_head(shift_P, 0.3));
        ASSERT_TRUE(movement) << movement.error().sentence();
        EXPECT_TRUE(movement->stands_double());
        EXPECT_LT(degrees_between(movement->shift_P, shift_P), 20);
        EXPECT_NEAR(movement->shift_P.norm(), shift_P.norm(), 0.15);
    }
}

TEST(FindMovement, TellsAShortMovementByTheEdgesItSoftens) {
    const Vec3 shift_P(0.2, 0.2, 0.05);
    const Result<Movement> movement = find_movement(moved_head(shift_P, 0.4));
    ASSERT_TRUE(movement);
    EXPECT_TRUE(movement->smeared());
    EXPECT_FALSE(movement->stands_double());
    EXPECT_LT(degrees_between(movement->blur_axis_P, shift_P), 10);
    // Of a blur of 0.107 mm, w (1 - w) d^2 is added along the movement.
    EXPECT_NEAR(movement->blur_ratio, std::sqrt(1 + 0.24 * shift_P.squaredNorm() / (0.107 * 0.107)),
                0.12);
}

TEST(FindMovement, LetsAHeadThatLayStillBe) {
    for (const double noise : {20.0, 70.0, 150.0}) {
        BallScan scan = still_head();
        scan.noise_sd = noise;
        const Result<Movement> movement = find_movement(ball_scan(scan));
        ASSERT_TRUE(movement) << noise;
        EXPECT_FALSE(movement->stands_double()) << noise;
        EXPECT_FALSE(movement->smeared()) << noise;
    }
}

// A socket's wall runs beside the whole of a root, outside of it: no second image of it.
TEST(FindMovement, DoesNotTakeTheSocketForASecondImage) {
    Brick brick = ball_scan(still_head());
    BallScan socket = still_head();
    socket.noise_sd = 0;
    socket.low_grey = 0;
    socket.high_grey = 1200;
    for (const auto& [radius_mm, sign] : {std::pair(3.7, -1.0F), std::pair(5.0, 1.0F)}) {
        socket.around_mm = 5.2 - radius_mm;
        socket.radius_mm = radius_mm;
        const Brick ball = ball_scan(socket);
        for (std::size_t n = 0; n < brick.grey.size(); ++n) brick.grey[n] += sign * ball.grey[n];
    }
    const Result<Movement> movement = find_movement(brick);
    ASSERT_TRUE(movement);
    EXPECT_FALSE(movement->stands_double());
    EXPECT_FALSE(movement->smeared());
}

TEST(FindMovement, SaysWhenThereAreNoEdges) {
    Brick brick;
    EXPECT_EQ(find_movement(brick).error().code, ErrorCode::NotConverged);
    brick.geometry.size = {20, 20, 20};
    brick.grey.assign(8000, 7);
    EXPECT_EQ(find_movement(brick).error().code, ErrorCode::NotConverged);
}

}  // namespace anfract
