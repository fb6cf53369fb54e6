#include "naming.h"

#include <gmock/gmock.h>

namespace anfract::tracing {
namespace {

using testing::ElementsAre;

std::vector<std::string> names(const std::string& fdi, const std::vector<Vec2>& middle_mm) {
    std::vector<CanalPlace> at;
    for (const Vec2& mm : middle_mm) at.push_back({mm});
    return canal_names(fdi, at);
}

// The trade's names; common practice, no source.
TEST(CanalNames, OfALowerMolarTellMesialFromDistal) {
    EXPECT_THAT(names("36", {{-2, 0}, {2, -1.2}, {2, 1.3}}), ElementsAre("D", "ML", "MB"));
    EXPECT_THAT(names("46", {{-2, 1}, {-2, -1}, {2, -1.2}, {2, 1.3}}),
                ElementsAre("DB", "DL", "ML", "MB"));
    EXPECT_THAT(names("46", {{-2, 0}, {2, 0}, {2, -1.2}, {2, 1.3}}),
                ElementsAre("D", "MM", "ML", "MB"));
}

TEST(CanalNames, OfAnUpperMolarPutTheSecondMesiobuccalInward) {
    EXPECT_THAT(names("26", {{0, -3}, {2, 2.4}, {-1.8, 2}, {2.1, 0.5}}),
                ElementsAre("P", "MB", "DB", "MB2"));
}

TEST(CanalNames, OfFrontTeethAndPremolars) {
    EXPECT_THAT(names("11", {{0, 0}}), ElementsAre("main"));
    EXPECT_THAT(names("34", {{0, 1}, {0, -1}}), ElementsAre("B", "L"));
    EXPECT_THAT(names("14", {{0, -1}, {0, 1}}), ElementsAre("P", "B"));
}

// Two roots on the buccal side, or ways in a row from buccal to lingual; common practice, no
// source.
TEST(CanalNames, OfThreeInAPremolarTellARowFromTwoBuccalRoots) {
    EXPECT_THAT(names("14", {{1, 1.4}, {0, -2}, {-1, 1.5}}), ElementsAre("MB", "P", "DB"));
    EXPECT_THAT(names("25", {{0, 1.7}, {0.1, 0.2}, {0, -1.7}}), ElementsAre("B", "B2", "P"));
    EXPECT_THAT(names("25", {{0.2, 1}, {0, -1.5}, {0, -1.4}}), ElementsAre("B", "P", "P2"));
    EXPECT_THAT(canal_names("25", {{{0, 0.3}}, {{0, -1.9}}, {{0, 1.8}, true}}),
                ElementsAre("B", "P", "B2"));
    EXPECT_THAT(canal_names("25", {{{0, 0.3}}, {{0, -1.4}, true}}), ElementsAre("B", "P"));
    EXPECT_THAT(names("44", {{0, 1}, {0, -1.5}, {0.1, -1.2}}), ElementsAre("B", "L", "L2"));
}

TEST(CanalNames, AreLettersWithoutATooth) {
    EXPECT_THAT(names("", {{0, 0}, {1, 0}}), ElementsAre("A", "B"));
}

TEST(CanalNames, NeverRepeat) {
    auto all = names("36", {{2, 2}, {2, 1}, {2, 0}, {2, -1}, {-2, 0}, {-2.1, 1}, {-2.2, -1}});
    std::sort(all.begin(), all.end());
    EXPECT_EQ(std::adjacent_find(all.begin(), all.end()), all.end());
}

}  // namespace
}  // namespace anfract::tracing
