#include "second_image.h"

#include <gtest/gtest.h>

#include <cmath>

namespace anfract::tracing {
namespace {

/// A canal that bends away from the axis, shifted.
Canal canal_at(const std::string& name, const Vec3& offset_P, double presence) {
    Canal canal;
    canal.name = name;
    canal.presence = presence;
    for (double s = 0; s < 10; s += 0.2) {
        CanalSample sample;
        sample.depth_mm = s;
        sample.point_P = Vec3(0.01 * s * s, 0, -s) + offset_P;
        canal.samples.push_back(sample);
    }
    return canal;
}

const Vec3 shift_P(0.6, 0.5, 0);

TEST(SecondImages, AreCanalsThatLieByTheShiftBesideAnother) {
    for (const double way : {1.0, -1.0}) {
        Tooth tooth;
        tooth.canals = {canal_at("B", Vec3::Zero(), 0.99), canal_at("L", way * shift_P, 0.97)};
        const auto found = doubt_second_images(shift_P, tooth);
        ASSERT_EQ(found.size(), 1U);
        EXPECT_EQ(found[0].canal, "L");
        EXPECT_EQ(found[0].of, "B");
        EXPECT_DOUBLE_EQ(*tooth.canals[0].presence, 0.99);
        EXPECT_DOUBLE_EQ(*tooth.canals[1].presence, 0.4);
    }
}

TEST(SecondImages, AreNotCanalsElsewhere) {
    Tooth tooth;
    // Across the shift by its length, and twice as far along it.
    tooth.canals = {canal_at("B", Vec3::Zero(), 0.99), canal_at("L", Vec3(-0.5, 0.6, 0), 0.97),
                    canal_at("D", 2 * shift_P, 0.98)};
    EXPECT_TRUE(doubt_second_images(shift_P, tooth).empty());
    EXPECT_DOUBLE_EQ(*tooth.canals[1].presence, 0.97);
}

TEST(SecondImages, AreNotCanalsThatWereDrawnByHand) {
    Tooth tooth;
    tooth.canals = {canal_at("B", Vec3::Zero(), 0.99), canal_at("L", shift_P, 0.97)};
    tooth.canals[1].presence.reset();
    EXPECT_TRUE(doubt_second_images(shift_P, tooth).empty());
}

}  // namespace
}  // namespace anfract::tracing
