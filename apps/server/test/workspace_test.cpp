#include "workspace_fixture.h"

namespace anfract::server {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;
namespace fs = std::filesystem;

const std::string unknown = "0123456789abcdef";

TEST_F(WorkspaceTest, SaysWhatItIsAndWarns) {
    const json about = json_of(200, "GET", "/api/about");
    EXPECT_EQ(about["name"], "Anfract");
    EXPECT_FALSE(about["cautions"].empty());
}

TEST_F(WorkspaceTest, ServesThePageEverywhereButBelowApi) {
    const http::test::Reply page = ask("GET", "/");
    EXPECT_EQ(page.status, 200);
    EXPECT_THAT(page.headers.at("content-type"), HasSubstr("text/html"));
    EXPECT_EQ(ask("GET", "/cases/1").status, 200);
    refuses(404, "GET", "/api/none");
    refuses(404, "GET", "/none.js");
    refuses(405, "POST", "/");
}

TEST_F(WorkspaceTest, ServesAPageFromAFolderForDevelopment) {
    fs::create_directories(root_ / "page" / "assets");
    ASSERT_TRUE(write_file_atomically(root_ / "page" / "index.html", "first"));
    ServeOptions options;
    options.page = root_ / "page";
    start(options);
    EXPECT_EQ(ask("GET", "/").body, "first");
    ASSERT_TRUE(write_file_atomically(root_ / "page" / "index.html", "second"));
    EXPECT_EQ(ask("GET", "/").body, "second");
    // A neighbour of the folder is not part of the page.
    for (const char* way : {"/../data/lock", "/%2e%2e/data/lock", "/assets/..%2f..%2fdata/lock"}) {
        EXPECT_EQ(ask("GET", way).status, 400) << way;
    }
}

TEST_F(WorkspaceTest, RefusesForeignHostsAndOrigins) {
    EXPECT_EQ(ask("GET", "/api/cases", "", {{"Host", "rebound.example"}}).status, 421);
    EXPECT_EQ(ask("PUT", "/api/tray", "{}", {{"Origin", "http://evil.example"}}).status, 403);
    EXPECT_EQ(ask("PUT", "/api/tray", "{}", {{"Content-Type", "text/plain"}}).status, 415);
}

// ---- the tray ----

TEST_F(WorkspaceTest, HasTheGenericTrayUntilAnotherIsStored) {
    json tray = json_of(200, "GET", "/api/tray");
    EXPECT_EQ(tray["format"], "anfract.tray");
    ASSERT_GT(tray["devices"].size(), 2u);
    tray["devices"] = {tray["devices"][0]};
    tray["note"] = "an unknown key is kept";
    json_of(200, "PUT", "/api/tray", tray.dump());
    start();
    EXPECT_EQ(json_of(200, "GET", "/api/tray"), tray);
}

TEST_F(WorkspaceTest, RefusesATrayThatIsNone) {
    const json before = json_of(200, "GET", "/api/tray");
    json twice = before;
    twice["devices"].push_back(twice["devices"][0]);
    for (const std::string& bad :
         {std::string("{"), std::string("[]"), std::string("{}"), std::string("nul\0l", 5),
          std::string(R"({"format":"anfract.tooth","version":1})"),
          std::string(R"({"format":"anfract.tray","version":99,"devices":[]})"), twice.dump()}) {
        refuses(400, "PUT", "/api/tray", bad);
    }
    EXPECT_EQ(json_of(200, "GET", "/api/tray"), before);
    EXPECT_FALSE(fs::exists(root_ / "data" / "tray.json"));
    EXPECT_EQ(ask("PUT", "/api/tray", std::string(5 << 20, ' ')).status, 413);
}

// ---- cases ----

TEST_F(WorkspaceTest, KeepsCasesOverARestart) {
    const json made = json_of(201, "POST", "/api/cases",
                              json{{"tooth", hand_made_tooth()}, {"label", "practice"}}.dump());
    EXPECT_EQ(made["fdi"], "36");
    EXPECT_EQ(made["invented"], true);
    const std::string id = made["id"];
    start();
    const json list = json_of(200, "GET", "/api/cases");
    ASSERT_EQ(list["cases"].size(), 1u);
    EXPECT_EQ(list["cases"][0], made);
    const json opened = json_of(200, "GET", "/api/cases/" + id);
    EXPECT_EQ(opened["tooth"]["canals"][0]["name"], "MB");
    EXPECT_EQ(fs::status(root_ / "data" / "record.sqlite").permissions(), fs::perms(0600));
    EXPECT_EQ(fs::status(root_ / "data" / "files").permissions(), fs::perms(0700));
}

TEST_F(WorkspaceTest, RemovesACase) {
    const std::string id =
        json_of(201, "POST", "/api/cases", json{{"tooth", hand_made_tooth()}}.dump())["id"];
    EXPECT_EQ(ask("DELETE", "/api/cases/" + id).status, 204);
    refuses(404, "GET", "/api/cases/" + id);
    refuses(404, "DELETE", "/api/cases/" + id);
    EXPECT_TRUE(json_of(200, "GET", "/api/cases")["cases"].empty());
}

TEST_F(WorkspaceTest, FindsCasesByWordsAndInParts) {
    for (const char* label : {"lower left", "lower right", "upper"}) {
        json_of(201, "POST", "/api/cases",
                json{{"tooth", hand_made_tooth()}, {"label", label}}.dump());
    }
    EXPECT_EQ(json_of(200, "GET", "/api/cases?find=LOWER%2036")["cases"].size(), 2u);
    EXPECT_EQ(json_of(200, "GET", "/api/cases?find=lower&limit=1&offset=1")["cases"].size(), 1u);
    EXPECT_EQ(json_of(200, "GET", "/api/cases?limit=0")["cases"].size(), 0u);
    refuses(400, "GET", "/api/cases?limit=-1");
    refuses(400, "GET", "/api/cases?offset=x");
}

TEST_F(WorkspaceTest, RefusesTeethThatAreNone) {
    json broken = hand_made_tooth();
    broken["canals"][0]["samples"].erase("depth_mm");
    refuses(400, "POST", "/api/cases", json{{"tooth", broken}}.dump());
    refuses(400, "POST", "/api/cases", "{}");
    refuses(400, "POST", "/api/cases", "[1,");
    refuses(400, "POST", "/api/cases", json{{"tooth", hand_made_tooth()}, {"label", 3}}.dump());
    EXPECT_TRUE(json_of(200, "GET", "/api/cases")["cases"].empty());
}

TEST_F(WorkspaceTest, RefusesBodiesThatAreNestedWithoutEnd) {
    for (const char* way : {"/api/cases", "/api/scans", "/api/cases/0123456789abcdef/log"}) {
        for (const char* key : {"tooth", "path", "entries"}) {
            refuses(400, "POST", way,
                    "{\"" + std::string(key) + "\":" + std::string(300'000, '[') +
                        std::string(300'000, ']') + "}");
        }
    }
    refuses(400, "PUT", "/api/tray",
            R"({"format":)" + std::string(300'000, '[') + std::string(300'000, ']') + "}");
    EXPECT_EQ(ask("GET", "/api/cases").status, 200);
}

TEST_F(WorkspaceTest, KnowsNoCaseOrJobOfAnotherName) {
    for (const std::string& id :
         {unknown, std::string("x"), std::string("..."), std::string("%2e%2e%2e")}) {
        refuses(404, "GET", "/api/cases/" + id);
        refuses(404, "DELETE", "/api/cases/" + id);
        refuses(404, "GET", "/api/jobs/" + id + "/events");
        refuses(404, "DELETE", "/api/jobs/" + id);
    }
    refuses(400, "GET", "/api/cases/..%2f..%2ftray.json");
}

/// A case as the first version of the program kept it.
void write_first_folder(const fs::path& data, const std::string& id, const std::string& case_json,
                        const std::string& tooth_json) {
    const fs::path folder = data / "cases" / id;
    fs::create_directories(folder);
    ASSERT_TRUE(write_file_atomically(folder / "case.json", case_json));
    ASSERT_TRUE(write_file_atomically(folder / "tooth.json", tooth_json));
}

TEST_F(WorkspaceTest, TakesOverCasesOfTheFirstVersionWithoutLoss) {
    server_.reset();
    const std::string first = "00112233445566aa", second = "00112233445566bb";
    const json kept{{"id", first},      {"scan", "ffeeddccbbaa9988"},
                    {"fdi", "36"},      {"label", "first"},
                    {"invented", true}, {"created", "2026-01-31T12:00:00Z"}};
    const std::string tooth = hand_made_tooth().dump(1);
    write_first_folder(root_ / "data", first, kept.dump(1), tooth);
    write_first_folder(root_ / "data", second, R"({"label": "second"})", tooth);
    start();
    json opened = json_of(200, "GET", "/api/cases/" + first);
    EXPECT_EQ(opened["tooth"], hand_made_tooth());
    opened.erase("tooth");
    opened.erase("tooth_version");
    EXPECT_EQ(opened, kept);
    const fs::path moved = root_ / "data" / "taken-over" / first;
    EXPECT_EQ(read_file(moved / "tooth.json").value(), tooth);
    // As after a kill between the record and the move.
    write_first_folder(root_ / "data", second, R"({"label": "second"})", tooth);
    fs::remove_all(root_ / "data" / "taken-over" / second);
    start();
    EXPECT_EQ(json_of(200, "GET", "/api/cases")["cases"].size(), 2u);
    EXPECT_TRUE(fs::is_empty(root_ / "data" / "cases"));
}

TEST_F(WorkspaceTest, LeavesADamagedFirstFolderWhereItIsAndGoesOn) {
    server_.reset();
    const std::string half = "00112233445566aa", other = "00112233445566bb";
    write_first_folder(root_ / "data", half, "{\"fdi\": 3", "{}");
    write_first_folder(root_ / "data", other, "{}", "{}");
    start();
    EXPECT_EQ(json_of(200, "GET", "/api/cases")["cases"].size(), 1u);
    EXPECT_TRUE(fs::exists(root_ / "data" / "cases" / half / "case.json"));
    refuses(400, "GET", "/api/cases/" + other);
}

// ---- starting ----

TEST_F(WorkspaceTest, RefusesADataDirectoryInUseAndATakenPort) {
    ServeOptions same_data;
    same_data.data = root_ / "data";
    const auto second = WorkspaceServer::start(same_data, Progress());
    ASSERT_FALSE(second);
    EXPECT_THAT(second.error().sentence(), HasSubstr("another server"));
    ServeOptions same_port;
    same_port.data = root_ / "other";
    same_port.port = server_->port();
    const auto third = WorkspaceServer::start(same_port, Progress());
    ASSERT_FALSE(third);
    EXPECT_THAT(third.error().sentence(), HasSubstr("port " + std::to_string(server_->port())));
}

TEST_F(WorkspaceTest, RefusesADamagedTrayRatherThanForgetIt) {
    server_.reset();
    ASSERT_TRUE(write_file_atomically(root_ / "data" / "tray.json", "{}"));
    ServeOptions options;
    options.data = root_ / "data";
    EXPECT_FALSE(WorkspaceServer::start(options, Progress()));
}

}  // namespace
}  // namespace anfract::server
