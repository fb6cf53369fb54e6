#include "anfract/base/json_text.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "anfract/base/json_document.h"

namespace anfract {

using testing::AllOf;
using testing::HasSubstr;

std::string nested(std::size_t levels) {
    return std::string(levels, '[') + std::string(levels, ']');
}

TEST(ParseJson, ReadsWhatIsNestedUpToTheLimitAndNoDeeper) {
    EXPECT_TRUE(parse_json(nested(json_depth_limit), "x"));
    EXPECT_FALSE(parse_json(nested(json_depth_limit + 1), "x"));
    // Siblings do not add up.
    std::string row = "[1";
    for (int i = 0; i < 200; ++i) row += R"(,{"a":[]})";
    EXPECT_TRUE(parse_json(row + "]", "x"));
    const auto deep = parse_json(R"({"tooth":)" + nested(300'000) + "}", "body");
    ASSERT_FALSE(deep);
    EXPECT_THAT(deep.error().sentence(),
                AllOf(HasSubstr("body"), HasSubstr("64 levels"), HasSubstr("'tooth'")));
}

TEST(ParseJson, QuotesLittleOfALongText) {
    const auto result = parse_json("\"" + std::string(100'000, 'x'), "x");
    ASSERT_FALSE(result);
    EXPECT_LT(result.error().sentence().size(), 200u);
}

TEST(ParseDocument, RefusesTheInputsThatOnceBrokeIt) {
    namespace fs = std::filesystem;
    for (const auto& seed : fs::directory_iterator(ANFRACT_SOURCE_DIR "/fuzz/seeds/documents")) {
        if (!seed.path().filename().string().starts_with("bad-")) continue;
        const auto result = read_document(seed.path(), "anfract.tooth");
        ASSERT_FALSE(result) << seed.path();
        EXPECT_LT(result.error().sentence().size(), 300u);
    }
}

TEST(ParseDocument, RefusesWhatIsNestedTooDeepUnderAnyKey) {
    for (const char* key : {"format", "version", "other"}) {
        for (const std::string& value : {nested(300'000), std::string(300'000, '[')}) {
            const auto result =
                parse_document("{\"" + std::string(key) + "\":" + value + "}", "anfract.tray", "t");
            ASSERT_FALSE(result);
            EXPECT_LT(result.error().sentence().size(), 200u);
        }
    }
}

}  // namespace anfract
