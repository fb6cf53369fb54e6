#include "workspace_fixture.h"

namespace anfract::server {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;

class RecordRoutesTest : public WorkspaceTest {
  protected:
    void SetUp() override {
        WorkspaceTest::SetUp();
        const json made =
            json_of(201, "POST", "/api/cases", json{{"tooth", hand_made_tooth()}}.dump());
        case_ = "/api/cases/" + made["id"].get<std::string>();
    }
    static std::string body(int based_on, const json& record) {
        return json{{"based_on", based_on}, {"record", record}}.dump();
    }
    http::test::Reply send_file(const std::string& query, const std::string& bytes) {
        return ask("POST", case_ + "/files?" + query, bytes,
                   {{"Content-Type", "application/octet-stream"}});
    }
    std::string case_;
};

TEST_F(RecordRoutesTest, KeepsVersionsAndSaysWhatFollows) {
    EXPECT_EQ(json_of(200, "GET", case_ + "/record")["version"], 0);
    const json notes{
        {"patient", {{"name", "Invented Person"}}},
        {"diagnosis", {{"pulpal", "pulp-necrosis"}, {"apical", "acute-apical-abscess"}}},
        {"difficulty",
         {{"factors",
           {{{"factor", "mouth-opening"}, {"grade", "moderate"}},
            {{"factor", "isolation"}, {"grade", "moderate"}},
            {{"factor", "emergency"}, {"grade", "moderate"}}}}}},
        {"completed", "2026-01-31"},
        {"recalls",
         {{{"date", "2027-02-01"},
           {"periapical_index", 2},
           {"symptoms", false},
           {"ligament_normal", true},
           {"lesion", "none"}}}}};
    EXPECT_EQ(json_of(200, "PUT", case_ + "/record", body(0, notes))["version"], 1);
    start();
    const json now = json_of(200, "GET", case_ + "/record");
    EXPECT_EQ(now["record"]["patient"], notes["patient"]);
    const json& findings = now["findings"];
    EXPECT_EQ(findings["icd10"][1]["code"], "K04.7");
    // The hand-made canal turns gently, so the three moderate factors of the clinician decide.
    EXPECT_EQ(findings["difficulty"]["grade"], "high");
    EXPECT_EQ(findings["recalls"]["due"][3], "2030-01-31");
    EXPECT_EQ(findings["recalls"]["done"][0]["outcome"], "favourable");
    EXPECT_GE(findings["consent"].size(), 4u);
    EXPECT_EQ(json_of(200, "GET", case_ + "/record/versions")["versions"].size(), 1u);
    EXPECT_EQ(json_of(200, "GET", case_ + "/record/versions/1")["record"], now["record"]);
    EXPECT_EQ(json_of(200, "GET", "/api/cases?find=invented%20person")["cases"].size(), 1u);
}

TEST_F(RecordRoutesTest, AnswersALateSaveWithBothSides) {
    json_of(200, "PUT", case_ + "/record", body(0, {{"prognosis", "good"}}));
    const json both = json_of(409, "PUT", case_ + "/record", body(0, {{"prognosis", "fair"}}));
    EXPECT_EQ(both["error"]["code"], "conflict");
    EXPECT_EQ(both["yours"]["prognosis"], "fair");
    EXPECT_EQ(both["theirs"]["record"]["prognosis"], "good");
    EXPECT_EQ(both["theirs"]["version"], 1);
}

TEST_F(RecordRoutesTest, RefusesWhatIsNoRecord) {
    refuses(400, "PUT", case_ + "/record", "{}");
    refuses(400, "PUT", case_ + "/record", body(0, 3));
    refuses(400, "PUT", case_ + "/record", body(0, {{"completed", "soon"}}));
    refuses(404, "PUT", "/api/cases/0123456789abcdef/record", body(0, json::object()));
    refuses(404, "GET", "/api/cases/0123456789abcdef/record");
    refuses(404, "GET", case_ + "/record/versions/1");
    refuses(404, "GET", case_ + "/record/versions/none");
    EXPECT_EQ(json_of(200, "GET", case_ + "/record")["version"], 0);
}

TEST_F(RecordRoutesTest, KeepsPicturesAndPlansAsVersions) {
    const std::string png = "\x89PNG\r\n\x1a\n and more";
    const http::test::Reply stored = send_file("kind=radiograph&name=..%2Fafter.png", png);
    ASSERT_EQ(stored.status, 201) << stored.body;
    EXPECT_EQ(json::parse(stored.body)["name"], "after.png");
    const http::test::Reply back = ask("GET", case_ + "/files/radiograph/1");
    EXPECT_EQ(back.body, png);
    EXPECT_EQ(back.headers.at("content-type"), "image/png");
    EXPECT_EQ(back.headers.at("content-disposition"), "attachment");
    EXPECT_EQ(json_of(201, "POST", case_ + "/plan-versions", "{}")["version"], 1);
    EXPECT_EQ(json_of(200, "GET", case_ + "/files/plan/1")["format"], "anfract.plan");
    EXPECT_EQ(json_of(200, "GET", case_ + "/files")["files"].size(), 3u);  // and the tooth

    EXPECT_EQ(send_file("kind=radiograph", "<html>").status, 400);
    EXPECT_EQ(send_file("kind=paper", png).status, 400);
    EXPECT_EQ(send_file("kind=tooth", "{}").status, 400);
    EXPECT_EQ(ask("GET", case_ + "/files/radiograph/2").status, 404);
    EXPECT_EQ(ask("GET", case_ + "/files/..%2f..%2flock/1").status, 400);
}

}  // namespace
}  // namespace anfract::server
