// The teeth made for the eight canal systems have them.

#include <gtest/gtest.h>

#include "anfract/phantom/tooth_design.h"
#include "anfract/tooth/canal_system.h"
#include "tooth_solid.h"
#include "truth.h"

namespace anfract {
namespace {

class SystemKind : public testing::TestWithParam<const char*> {};

// Courses of the types: [Vertucci1984], from memory.
TEST_P(SystemKind, HasThatSystemInSoundDentine) {
    const std::string type = GetParam();
    const Result<ToothDesign> design = design_tooth("system-" + type, 1);
    ASSERT_TRUE(design) << design.error().sentence();
    const ToothSolid solid(*design);
    const Tooth tooth = true_tooth(solid, Pose{}, 2);
    const std::vector<Root> roots = roots_of(tooth);
    ASSERT_EQ(roots.size(), 1U);
    EXPECT_EQ(vertucci_type(roots.front().course), type) << to_string(roots.front().course);
    for (const Canal& canal : tooth.canals) {
        EXPECT_NEAR(solid.outer_mm(canal.foramen_P), 0, 0.02) << canal.name;
        for (const CanalSample& s : canal.samples) {
            if (s.depth_mm > canal.depth_to_foramen_mm - 1.6) break;
            EXPECT_GT(*s.wall_min_mm, 0.6) << canal.name << " at " << s.depth_mm;
        }
    }
}
INSTANTIATE_TEST_SUITE_P(Types, SystemKind,
                         testing::Values("I", "II", "III", "IV", "V", "VI", "VII", "VIII"));

TEST(SystemKind, RefusesSystemsThatAreNone) {
    for (const char* kind : {"system-", "system-IX", "system-2-1"})
        EXPECT_FALSE(design_tooth(kind, 1)) << kind;
}

}  // namespace
}  // namespace anfract
