#include "anfract/tooth/clinical_frame.h"

#include <gtest/gtest.h>

namespace anfract {
namespace {

const Vec3 left(1, 0, 0), right(-1, 0, 0), front(0, -1, 0), back(0, 1, 0), up(0, 0, 1),
    down(0, 0, -1);

// Which way is buccal and mesial follows from the anatomy of the arch and LPS axes.
TEST(ClinicalFrame, KnowsTheFourCornersOfTheMouth) {
    const struct {
        const char* fdi;
        Vec3 apical, buccal, mesial;
    } cases[] = {{"36", down, left, front},  {"46", down, right, front}, {"26", up, left, front},
                 {"16", up, right, front},   {"11", up, front, left},    {"21", up, front, right},
                 {"31", down, front, right}, {"41", down, front, left},  {"75", down, left, front}};
    for (const auto& c : cases) {
        const ClinicalFrame frame = clinical_frame(c.fdi, c.apical);
        EXPECT_TRUE(frame.known);
        EXPECT_LT((frame.buccal - c.buccal).norm(), 1e-12) << c.fdi;
        EXPECT_LT((frame.mesial - c.mesial).norm(), 1e-12) << c.fdi;
    }
}

TEST(ClinicalFrame, PutsCaninesAtTheCorner) {
    const ClinicalFrame frame = clinical_frame("33", down);
    EXPECT_NEAR(frame.buccal.dot(left), frame.buccal.dot(front), 1e-12);
    EXPECT_GT(frame.mesial.dot(front), 0);
    EXPECT_GT(frame.mesial.dot(right), 0);
}

TEST(ClinicalFrame, StaysOrthonormalForATiltedTooth) {
    const ClinicalFrame frame = clinical_frame("47", {0.3, -0.4, -2});
    for (const Vec3& v : {frame.apical, frame.buccal, frame.mesial})
        EXPECT_NEAR(v.norm(), 1, 1e-12);
    EXPECT_NEAR(frame.apical.dot(frame.buccal), 0, 1e-12);
    EXPECT_NEAR(frame.apical.dot(frame.mesial), 0, 1e-12);
    EXPECT_NEAR(frame.buccal.dot(frame.mesial), 0, 1e-12);
    EXPECT_NEAR(clinical_frame("36", left).buccal.norm(), 1, 1e-12);  // lies on its side
}

TEST(ClinicalFrame, NamesDirections) {
    const ClinicalFrame lower = clinical_frame("36", down);
    EXPECT_EQ(direction_name(lower, back), "D");
    EXPECT_EQ(direction_name(lower, left + front), "MB");
    EXPECT_EQ(direction_name(lower, right), "L");
    EXPECT_EQ(direction_name(lower, right + back + 5 * down), "DL");
    EXPECT_EQ(direction_name(lower, down), "");
    const ClinicalFrame upper = clinical_frame("16", up);
    EXPECT_EQ(direction_name(upper, left), "P");
    EXPECT_EQ(direction_name(upper, left + front), "MP");
    const ClinicalFrame unknown = clinical_frame("", down);
    EXPECT_FALSE(unknown.known);
    EXPECT_EQ(direction_name(unknown, left), "left");
    EXPECT_EQ(direction_name(unknown, back), "back");
}

}  // namespace
}  // namespace anfract
