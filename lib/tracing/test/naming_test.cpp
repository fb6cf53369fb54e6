#include "naming.h"

#include <gmock/gmock.h>

namespace anfract::tracing {
namespace {

using testing::ElementsAre;

// The trade's names; common practice, no source.
TEST(CanalNames, OfALowerMolarTellMesialFromDistal) {
    EXPECT_THAT(canal_names("36", {{-2, 0}, {2, -1.2}, {2, 1.3}}), ElementsAre("D", "ML", "MB"));
    EXPECT_THAT(canal_names("46", {{-2, 1}, {-2, -1}, {2, -1.2}, {2, 1.3}}),
                ElementsAre("DB", "DL", "ML", "MB"));
    EXPECT_THAT(canal_names("46", {{-2, 0}, {2, 0}, {2, -1.2}, {2, 1.3}}),
                ElementsAre("D", "MM", "ML", "MB"));
}

TEST(CanalNames, OfAnUpperMolarPutTheSecondMesiobuccalInward) {
    EXPECT_THAT(canal_names("26", {{0, -3}, {2, 2.4}, {-1.8, 2}, {2.1, 0.5}}),
                ElementsAre("P", "MB", "DB", "MB2"));
}

TEST(CanalNames, OfFrontTeethAndPremolars) {
    EXPECT_THAT(canal_names("11", {{0, 0}}), ElementsAre("main"));
    EXPECT_THAT(canal_names("34", {{0, 1}, {0, -1}}), ElementsAre("B", "L"));
    EXPECT_THAT(canal_names("14", {{0, -1}, {0, 1}}), ElementsAre("P", "B"));
}

TEST(CanalNames, AreLettersWithoutATooth) {
    EXPECT_THAT(canal_names("", {{0, 0}, {1, 0}}), ElementsAre("A", "B"));
}

TEST(CanalNames, NeverRepeat) {
    auto names =
        canal_names("36", {{2, 2}, {2, 1}, {2, 0}, {2, -1}, {-2, 0}, {-2.1, 1}, {-2.2, -1}});
    std::sort(names.begin(), names.end());
    EXPECT_EQ(std::adjacent_find(names.begin(), names.end()), names.end());
}

}  // namespace
}  // namespace anfract::tracing
