#include "anfract/base/json_document.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <limits>
#include <nlohmann/json.hpp>

namespace anfract {

using testing::HasSubstr;

const std::string tray = R"({"format": "anfract.tray", "version": 1, "devices": [{
  "id": "hand-010-25", "kind": "hand-file", "material": "stainless-steel", "section": "square",
  "tip_mm": 0.10, "taper": 0.02, "working_part_mm": 16, "length_mm": 25, "stock": 6, "max_uses": 1}]})";

std::string complaint(std::string text, const std::string& from, const std::string& to) {
    if (const auto at = text.find(from); at != std::string::npos) text.replace(at, from.size(), to);
    const auto result = parse_document(text, "anfract.tray", "tray.json");
    return result ? "accepted" : result.error().sentence();
}

TEST(ParseDocument, AcceptsAValidFileAndKeepsUnknownKeys) {
    const auto result = parse_document(tray, "anfract.tray", "tray.json");
    ASSERT_TRUE(result) << result.error().sentence();
    EXPECT_EQ(complaint(tray, "\"stock\": 6", "\"stock\": 6, \"shelf\": \"B\""), "accepted");
}

TEST(ParseDocument, NamesTheKeyAndTheFile) {
    EXPECT_THAT(complaint(tray, "\"taper\": 0.02", "\"taper\": NaN"),
                testing::AllOf(HasSubstr("tray.json"), HasSubstr("'taper'")));
    EXPECT_THAT(complaint(tray, "\"taper\": 0.02", "\"taper\": -0.02"),
                HasSubstr("devices[0].taper"));
    EXPECT_THAT(complaint(tray, "\"taper\": 0.02", "\"taper\": 1e999"), HasSubstr("'taper'"));
    EXPECT_THAT(complaint(tray, "0.02", "\"x\""), HasSubstr("devices[0].taper"));
    EXPECT_THAT(complaint(tray, "\"kind\": \"hand-file\",", ""), HasSubstr("kind"));
    EXPECT_THAT(complaint(tray, "anfract.tray", "anfract.tooth"), HasSubstr("'format'"));
    EXPECT_THAT(complaint(tray, "\"version\": 1", "\"version\": 2"), HasSubstr("newer"));
    EXPECT_THAT(complaint(tray, "\"version\": 1", "\"version\": 1e30"), HasSubstr("newer"));
    EXPECT_EQ(complaint(tray, "\"version\": 1", "\"version\": 1.0"), "accepted");
    EXPECT_THAT(complaint(tray, "\"version\": 1", "\"version\": 0.5"), HasSubstr("version"));
    EXPECT_THAT(complaint(tray, "}]}", ""), HasSubstr("not valid JSON"));
    EXPECT_THAT(complaint("[]", "", ""), HasSubstr("not a JSON object"));
    EXPECT_THAT(complaint("", "", ""), HasSubstr("not valid JSON"));
}

TEST(WriteDocument, RefusesANumberThatIsNotFinite) {
    auto document = parse_document(tray, "anfract.tray", "t").value();
    document["devices"][0]["taper"] = std::numeric_limits<double>::quiet_NaN();
    const auto path = std::filesystem::temp_directory_path() /
                      ("anfract-json-" + std::to_string(::getpid()) + ".json");
    const auto result = write_document(path, document, "anfract.tray");
    ASSERT_FALSE(result);
    EXPECT_THAT(result.error().sentence(), HasSubstr("devices[0].taper"));
    EXPECT_FALSE(std::filesystem::exists(path));
}

TEST(WriteDocument, ReplacesWhatIsNoUtf8) {
    auto document = parse_document(tray, "anfract.tray", "t").value();
    document["devices"][0]["note"] = "Z\xE4hne";
    const auto path = std::filesystem::temp_directory_path() /
                      ("anfract-utf8-" + std::to_string(::getpid()) + ".json");
    const auto result = write_document(path, document, "anfract.tray");
    ASSERT_TRUE(result) << result.error().sentence();
    EXPECT_EQ(read_document(path, "anfract.tray").value()["devices"][0]["note"], "Z\uFFFDhne");
    std::filesystem::remove(path);
}

TEST(Schemas, AllParse) {
    for (const std::string& name : schema_formats()) {
        EXPECT_TRUE(nlohmann::json::accept(schema_text(name))) << name;
    }
}

}  // namespace anfract
