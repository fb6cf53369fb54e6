#include "fading.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace anfract::tracing {
namespace {

constexpr double voxel_mm = 0.2, end_mm = 8, half_mm = 1.4;

/// A root along z, square, of 2.8 mm, closed at 8 mm; its canal begins at the origin.
struct Root {
    GridGeometry geometry;
    Brick depth, z;

    Root() {
        geometry.size = {17, 17, 50};
        geometry.spacing_mm = Vec3::Constant(voxel_mm);
        geometry.origin_P = Vec3(-1.6, -1.6, -1);
        depth = {geometry, {}};
        z = {geometry, {}};
        // Of the evidence in plain dentine: about 0.9 with a scatter of 1, as it is taken to be.
        std::mt19937 engine(3);
        for (int n = 0; n < 17 * 17 * 50; ++n) {
            const Vec3 p = geometry.to_patient(Vec3(n % 17, n / 17 % 17, n / (17 * 17)));
            const double side = half_mm - std::max(std::abs(p.x()), std::abs(p.y()));
            depth.grey.push_back(float(std::min(side, end_mm - p.z())));
            double noise = -6;  // a sum of twelve of [0, 1) is nearly normal
            for (int k = 0; k < 12; ++k) noise += double(engine()) / 4294967296.0;
            z.grey.push_back(float(0.9 + noise));
        }
    }

    /// A canal x(z) that answers with 3.2 on the average as far as `to_mm`.
    void draw(double (*x_mm)(double), double to_mm) {
        for (int n = 0; n < int(z.grey.size()); ++n) {
            const Vec3 p = geometry.to_patient(Vec3(n % 17, n / 17 % 17, n / (17 * 17)));
            if (p.z() > to_mm) continue;
            const double distance = std::hypot(p.x() - x_mm(p.z()), p.y());
            z.grey[std::size_t(n)] += float(2.3 * std::exp(-distance * distance / 0.06));
        }
    }

    FadingEnd followed(std::function<FadingCanal::Other(const Vec3&)> other) const {
        const auto end = follow_fading({Vec3(0, 0, 0), Vec3(0, 0, 1), z, depth, std::move(other)});
        return end.value_or(FadingEnd{});
    }
};

FadingCanal::Other nobody(const Vec3&) { return {}; }

/// An arc of radius 20 mm, to 1.6 mm aside at 8 mm: not straight on.
double bent(double z_mm) { return z_mm < 2 ? 0 : std::pow(z_mm - 2, 2) / 40; }

TEST(FadingCanal, IsFollowedAlongABendAsFarAsItAnswers) {
    Root root;
    root.draw(bent, 8);
    const FadingEnd end = root.followed(nobody);
    ASSERT_GT(end.points.size(), 10U);
    EXPECT_EQ(end.joins, -1);
    EXPECT_GT(end.points.back().z(), 7);
    EXPECT_LT(end.unseen_mm, 1);
    for (const Vec3& p : end.points) EXPECT_LT(std::hypot(p.x() - bent(p.z()), p.y()), 0.35);
}

// From 4 mm on nothing tells where it goes; the nearest surface is 1 mm aside, the root's end
// 3.6 mm further down.
TEST(FadingCanal, GoesOnDownTheRootWhereNothingIsSeen) {
    Root root;
    root.draw([](double) { return 0.0; }, 4);
    const FadingEnd end = root.followed(nobody);
    ASSERT_FALSE(end.points.empty());
    EXPECT_GT(end.points.back().z(), 7);
    EXPECT_GT(end.unseen_mm, 2);
    EXPECT_LT(end.unseen_mm, 4.5);
}

// Seen to 3.5 mm; another canal, whose blur reaches 0.5 mm, comes from aside and runs on down the
// middle from 5 mm on.
TEST(FadingCanal, EndsOnTheLineOfAnotherThatItRunsInto) {
    Root root;
    root.draw([](double) { return 0.0; }, 3.5);
    const FadingEnd end = root.followed([](const Vec3& p) {
        const double apart_mm = std::hypot(p.x() - std::max(0.0, 5 - p.z()), p.y());
        return FadingCanal::Other{apart_mm < 0.5, apart_mm < 0.3 ? 2 : -1};
    });
    ASSERT_FALSE(end.points.empty());
    EXPECT_EQ(end.joins, 2);
    EXPECT_NEAR(end.points.back().z(), 4.8, 0.5);
}

TEST(FadingCanal, IsNotLedOnWhereNoWayEnds) {
    Root root;
    for (float& depth : root.depth.grey) depth = 5;
    EXPECT_TRUE(root.followed(nobody).points.empty());
}

}  // namespace
}  // namespace anfract::tracing
