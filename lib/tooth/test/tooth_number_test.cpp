#include "anfract/tooth/tooth_number.h"

#include <gtest/gtest.h>

#include <set>

namespace anfract {

// Pairs from ISO 3950 and the Universal numbering as both are published.
TEST(ToothNumber, TranslatesKnownPairs) {
    const std::pair<const char*, const char*> pairs[] = {
        {"18", "1"},  {"16", "3"},  {"11", "8"},  {"21", "9"},  {"26", "14"}, {"28", "16"},
        {"38", "17"}, {"37", "18"}, {"36", "19"}, {"31", "24"}, {"41", "25"}, {"46", "30"},
        {"47", "31"}, {"48", "32"}, {"55", "A"},  {"51", "E"},  {"61", "F"},  {"65", "J"},
        {"75", "K"},  {"71", "O"},  {"81", "P"},  {"85", "T"}};
    for (const auto& [fdi, universal] : pairs) {
        ASSERT_TRUE(tooth_number_from_fdi(fdi)) << fdi;
        EXPECT_EQ(tooth_number_from_fdi(fdi)->universal(), universal);
        EXPECT_EQ(tooth_number_from_universal(universal)->fdi(), fdi);
    }
}

TEST(ToothNumber, RefusesWhatIsNotATooth) {
    for (const char* text :
         {"19", "29", "50", "56", "00", "90", "3", "", "361", "ab", "1.", "-1"}) {
        ASSERT_FALSE(tooth_number_from_fdi(text)) << text;
        EXPECT_NE(tooth_number_from_fdi(text).error().sentence().find("tooth number"),
                  std::string::npos);
    }
    for (const char* text : {"0", "33", "U", "a", "", "08"}) {
        EXPECT_FALSE(tooth_number_from_universal(text)) << text;
    }
}

TEST(ToothNumber, EveryToothHasItsOwnUniversalNumber) {
    std::set<std::string> seen;
    for (int quadrant = 1; quadrant <= 8; ++quadrant) {
        for (int place = 1; place <= (quadrant > 4 ? 5 : 8); ++place) {
            seen.insert(ToothNumber{quadrant, place}.universal());
        }
    }
    EXPECT_EQ(seen.size(), 52u);  // 32 permanent and 20 primary teeth
}

TEST(ToothNumber, KnowsSideAndJaw) {
    EXPECT_TRUE(tooth_number_from_fdi("26")->upper());
    EXPECT_TRUE(tooth_number_from_fdi("26")->left());
    EXPECT_FALSE(tooth_number_from_fdi("36")->upper());
    EXPECT_TRUE(tooth_number_from_fdi("36")->left());
    EXPECT_FALSE(tooth_number_from_fdi("84")->left());
    EXPECT_TRUE(tooth_number_from_fdi("84")->molar());
}

}  // namespace anfract
