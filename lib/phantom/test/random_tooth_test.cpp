// Teeth drawn at random stay within published anatomy, and their distribution is the published one.

#include "random_tooth.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "anfract/phantom/phantom.h"
#include "anfract/tooth/canal_system.h"
#include "tooth_solid.h"
#include "truth.h"

namespace anfract {
namespace {

const CanalDesign* canal_of(const ToothDesign& tooth, const std::string& name) {
    const auto at = std::find_if(tooth.canals.begin(), tooth.canals.end(),
                                 [&](const CanalDesign& c) { return c.name == name; });
    return at == tooth.canals.end() ? nullptr : &*at;
}

double apex_depth_mm(const ToothSolid& solid) {
    double deepest = 0;
    for (const VaryingTube& root : solid.roots()) deepest = std::max(deepest, root.box_max().z());
    return deepest;
}

// Mean lengths of [Black] from memory, the same table the draw uses; the spread is cut at 1.5 sd of
// 1.5 mm, the roots vary by 0.6 mm more, bends shorten what is seen along the axis.
TEST(RandomTooth, OfEveryKindIsAsLongAsItsKind) {
    for (int quadrant = 1; quadrant <= 4; ++quadrant) {
        for (int place = 1; place <= 8; ++place) {
            const std::string fdi{char('0' + quadrant), char('0' + place)};
            const double mean = anatomy_of(quadrant <= 2, place).length_mm;
            for (std::uint64_t seed = 1; seed <= 3; ++seed) {
                const Result<ToothDesign> tooth = random_tooth(fdi, seed);
                ASSERT_TRUE(tooth) << fdi;
                EXPECT_EQ(tooth->fdi, fdi);
                const double depth = apex_depth_mm(ToothSolid(*tooth));
                EXPECT_GT(depth, mean - 5.5) << fdi << " seed " << seed;
                EXPECT_LT(depth, mean + 4.0) << fdi << " seed " << seed;
            }
        }
    }
}

TEST(RandomTooth, HasCanalsThatRunInsideItToTheirForamina) {
    for (const char* fdi : {"11", "24", "26", "31", "34", "46", "47"}) {
        for (std::uint64_t seed = 1; seed <= 3; ++seed) {
            const ToothSolid solid(*random_tooth(fdi, seed));
            const Tooth tooth = true_tooth(solid, Pose{}, 2);
            for (const Canal& canal : tooth.canals) {
                EXPECT_NEAR(solid.outer_mm(canal.foramen_P), 0, 0.02) << fdi << " " << canal.name;
                for (const CanalSample& s : canal.samples) {
                    if (s.depth_mm > canal.depth_to_foramen_mm - 1.6) break;
                    EXPECT_GT(*s.wall_min_mm, 0.25) << fdi << " " << canal.name << " " << seed;
                }
            }
        }
    }
}

// A second mesiobuccal canal in 69.6 % of upper first molars, 64.5 to 74.8 [PooledMB2]; open apices
// (3 %) have none. The share of 300 draws has a standard deviation of 2.7 %.
TEST(RandomTooth, HasASecondMesiobuccalCanalAsOftenAsPublished) {
    int second = 0;
    constexpr int draws = 300;
    for (std::uint64_t seed = 1; seed <= draws; ++seed) {
        if (canal_of(*random_tooth("16", seed), "MB2") != nullptr) ++second;
    }
    EXPECT_NEAR(double(second) / draws, 0.696 * 0.97, 0.075);
}

// Types of the mesial root of lower first molars: I 12, II 28, IV 43, V 8, VI 10, of 102
// [Vertucci1984].
TEST(RandomTooth, HasTheCanalSystemsOfItsRoot) {
    std::map<std::string, int> counts;
    for (std::uint64_t seed = 1; seed <= 200; ++seed) {
        const ToothDesign design = *random_tooth("46", seed);
        const CanalDesign* second = canal_of(design, "ML");
        ++counts[canal_of(design, "ML2") != nullptr ? "VI"
                 : second == nullptr                ? "I"
                 : !second->joins.empty()           ? "II"
                 : !second->leaves.empty()          ? "V"
                                                    : "IV"];
    }
    // Three standard deviations of a count among 200.
    EXPECT_NEAR(counts["IV"], 200 * 0.97 * 43 / 102.0, 21);
    EXPECT_NEAR(counts["II"], 200 * 0.97 * 28 / 102.0, 19);
    EXPECT_NEAR(counts["VI"], 200 * 0.97 * 10 / 102.0, 13);
    EXPECT_NEAR(counts["V"], 200 * 0.97 * 8 / 102.0, 11);
    // Roots still open, 3 %, have one canal.
    EXPECT_NEAR(counts["I"], 200 * (0.97 * 12 / 102.0 + 0.03), 14);
}

// A canal that parts and comes back (type III) shares its beginning and its end with the other.
TEST(RandomTooth, MayHaveACanalThatPartsAndComesBack) {
    for (std::uint64_t seed = 1; seed <= 60; ++seed) {
        const ToothDesign design = *random_tooth("41", seed);
        const CanalDesign* second = canal_of(design, "L");
        if (second == nullptr || second->leaves.empty()) continue;
        const Tooth tooth = true_tooth(ToothSolid(design), Pose{}, 1);
        const Canal& one = *tooth.find("B");
        const Canal& other = *tooth.find("L");
        EXPECT_LT((one.orifice_P - other.orifice_P).norm(), 1e-6);
        EXPECT_LT((one.foramen_P - other.foramen_P).norm(), 1e-6);
        ASSERT_TRUE(other.leaves && other.joins);
        EXPECT_LT(other.leaves->depth_mm + 2, other.joins->depth_mm);
        EXPECT_EQ(vertucci_type(roots_of(tooth).front().course), "III");
        return;
    }
    FAIL() << "none among 60 lower incisors, where 22 % are expected";
}

// By what their canals do the two are VI and VII [Vertucci1984]; their walls are held above.
TEST(RandomTooth, MayHaveCanalsThatMeetAndPartAgain) {
    std::map<std::string, int> types;
    for (std::uint64_t seed = 201; seed <= 400; ++seed) {
        const ToothDesign design = *random_tooth("25", seed);
        if (canal_of(design, "P2") == nullptr) continue;
        const Tooth tooth = true_tooth(ToothSolid(design), Pose{}, 1);
        ++types[vertucci_type(roots_of(tooth).front().course)];
    }
    ASSERT_EQ(types.size(), 2U);
    // 5 and 2 of 100, of roots that are not open: 9.7 and 3.9 of 200. Within three standard
    // deviations.
    EXPECT_NEAR(types["VI"], 9.7, 9.3);
    EXPECT_NEAR(types["VII"], 3.9, 5.9);
}

TEST(RandomTooth, RefusesTeethThatAreNone) {
    for (const char* kind : {"random-19", "random-xx", "randomly"}) {
        EXPECT_FALSE(design_tooth(kind, 1)) << kind;
    }
    const auto primary = design_tooth("random-55", 1);
    ASSERT_FALSE(primary);
    EXPECT_THAT(primary.error().sentence(), testing::HasSubstr("permanent"));
    EXPECT_EQ(design_tooth("random-36", 7)->canals.size(), random_tooth("36", 7)->canals.size());
}

}  // namespace
}  // namespace anfract
