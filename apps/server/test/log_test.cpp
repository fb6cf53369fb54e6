#include "workspace_fixture.h"

namespace anfract::server {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;

class LogTest : public WorkspaceTest {
  protected:
    void SetUp() override {
        WorkspaceTest::SetUp();
        const json made =
            json_of(201, "POST", "/api/cases", json{{"tooth", hand_made_tooth()}}.dump());
        log_ = "/api/cases/" + made["id"].get<std::string>() + "/log";
    }
    static json entry(char digit, const std::string& kind) {
        return {
            {"entry_id", std::string("0000000-0000-4000-8000-000000000000").insert(0, 1, digit)},
            {"at", "2026-01-31T12:00:00.000+01:00"},
            {"kind", kind}};
    }
    std::string log_;
};

TEST_F(LogTest, IsEmptyAtFirstAndGrowsOverARestart) {
    EXPECT_TRUE(json_of(200, "GET", log_)["entries"].empty());
    const json sent{{"entries", {entry('1', "opened"), entry('2', "rinse-started")}}};
    const json acknowledged = json_of(200, "POST", log_, sent.dump());
    ASSERT_EQ(acknowledged["entries"].size(), 2u);
    EXPECT_EQ(acknowledged["entries"][1]["sequence"], 2);
    EXPECT_EQ(acknowledged["entries"][1]["previous_sha256"], acknowledged["entries"][0]["sha256"]);
    start();
    EXPECT_EQ(json_of(200, "GET", log_), acknowledged);
    // A page that did not hear the answer sends its queue again.
    EXPECT_EQ(json_of(200, "POST", log_, sent.dump()), acknowledged);
    EXPECT_EQ(json_of(200, "GET", log_), acknowledged);
}

TEST_F(LogTest, ChangesThePlanToTheDepthMeasuredLast) {
    const std::string plan = log_.substr(0, log_.size() - 3) + "plan";
    const double suggested_mm = json_of(200, "GET", plan)["canals"][0]["working_depth_mm"];
    json measured = entry('1', "depth-measured");
    measured.update({{"canal", "MB"}, {"depth_mm", suggested_mm - 0.6}});
    json elsewhere = entry('2', "depth-measured");  // a canal that the scan did not show
    elsewhere.update({{"canal", "MB2"}, {"depth_mm", 19}});
    json_of(200, "POST", log_, json{{"entries", {measured, elsewhere}}}.dump());
    EXPECT_DOUBLE_EQ(json_of(200, "GET", plan)["canals"][0]["working_depth_mm"].get<double>(),
                     suggested_mm - 0.6);
    json taken_back = entry('3', "correction");
    taken_back["corrects"] = measured["entry_id"];
    json_of(200, "POST", log_, json{{"entries", {taken_back}}}.dump());
    EXPECT_DOUBLE_EQ(json_of(200, "GET", plan)["canals"][0]["working_depth_mm"].get<double>(),
                     suggested_mm);
}

TEST_F(LogTest, RefusesOtherContentUnderAnIdThatIsThere) {
    json_of(200, "POST", log_, json{{"entries", {entry('1', "opened")}}}.dump());
    const json other = json_of(409, "POST", log_, json{{"entries", {entry('1', "note")}}}.dump());
    EXPECT_EQ(other["error"]["code"], "conflict");
    EXPECT_THAT(other["error"]["sentence"].get<std::string>(), HasSubstr("entry 1"));
}

TEST_F(LogTest, RefusesWhatIsNoEntry) {
    for (const std::string& bad :
         {std::string("[]"), std::string("{}"), std::string("{\"entries\":[{}]}"),
          std::string("\xff\xfe"), json{{"entries", {entry('1', "exploded")}}}.dump(),
          json{{"format", "anfract.tooth"}, {"entries", json::array()}}.dump()}) {
        refuses(400, "POST", log_, bad);
    }
    refuses(404, "POST", "/api/cases/0123456789abcdef/log",
            json{{"entries", {entry('1', "opened")}}}.dump());
    refuses(404, "GET", "/api/cases/0123456789abcdef/log");
    refuses(405, "DELETE", log_);
    EXPECT_TRUE(json_of(200, "GET", log_)["entries"].empty());
}

}  // namespace
}  // namespace anfract::server
