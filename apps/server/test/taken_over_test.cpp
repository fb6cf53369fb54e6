// What earlier versions kept in files of their own comes into the record, without loss.

#include "anfract/record/archive.h"
#include "anfract/record/hash.h"
#include "scan_files.h"
#include "workspace_fixture.h"

namespace anfract::server {
namespace {

using nlohmann::json;
using ::testing::IsEmpty;
namespace fs = std::filesystem;

const std::string scan_id = "00112233445566cc", outside_id = "00112233445566dd";

/// The description that the first version kept of small_nrrd().
json description(const std::string& id, const std::string& path, bool uploaded) {
    return {{"id", id},
            {"label", "kept.nrrd"},
            {"invented", false},
            {"geometry",
             {{"size", {10, 8, 6}},
              {"spacing_mm", {0.5, 0.5, 0.5}},
              {"origin_mm", {-2, 3, 4}},
              {"direction", {1, 0, 0, 0, 1, 0, 0, 0, 1}}}},
            {"series_uid", ""},
            {"grey", {{"low", 0.0}, {"high", 579.0}}},
            {"created", "2026-01-31T12:00:00Z"},
            {"path", path},
            {"uploaded", uploaded}};
}

class TakenOverTest : public WorkspaceTest {
  protected:
    fs::path data() const { return root_ / "data"; }
    void keep_scan(const std::string& id, const json& stored, bool with_file) {
        fs::create_directories(data() / "scans" / id);
        ASSERT_TRUE(write_file_atomically(data() / "scans" / id / "scan.json", stored.dump(1)));
        if (with_file) {
            ASSERT_TRUE(write_file_atomically(data() / "scans" / id / "scan.nrrd", small_nrrd()));
        }
    }
};

TEST_F(TakenOverTest, ScansTrayAndCorrectionsComeIntoTheRecord) {
    const json tray = json_of(200, "GET", "/api/tray");
    const std::string case_id =
        json_of(201, "POST", "/api/cases", json{{"tooth", hand_made_tooth()}}.dump())["id"];
    server_.reset();
    json smaller = tray;
    smaller["devices"] = {tray["devices"][0]};
    ASSERT_TRUE(write_file_atomically(data() / "tray.json", smaller.dump(1)));
    ASSERT_TRUE(write_file_atomically(root_ / "outside.nrrd", small_nrrd()));
    keep_scan(scan_id, description(scan_id, "scan.nrrd", true), true);
    keep_scan(outside_id, description(outside_id, (root_ / "outside.nrrd").string(), false), false);
    fs::create_directories(data() / "corrections");
    const json corrections{
        {"request", {{"inside_mm", {1, 2, 3}}, {"fdi", "36"}, {"canals", json::array()}}},
        {"edits", {{{"kind", "remove-canal"}, {"canal", "MB"}}}},
        {"undone", json::array()}};
    ASSERT_TRUE(
        write_file_atomically(data() / "corrections" / (case_id + ".json"), corrections.dump(1)));

    for (int twice = 0; twice < 2; ++twice) {
        start();
        EXPECT_EQ(json_of(200, "GET", "/api/scans")["scans"].size(), 2u);
        EXPECT_EQ(ask("GET", "/api/scans/" + scan_id + "/brick").body.size(), 10u * 8 * 6 * 2);
        EXPECT_EQ(ask("GET", "/api/scans/" + outside_id + "/brick").status, 200);
        EXPECT_EQ(json_of(200, "GET", "/api/tray"), smaller);
        const json edits = json_of(200, "GET", "/api/cases/" + case_id + "/edits");
        EXPECT_EQ(edits["edits"], corrections["edits"]);
        EXPECT_EQ(edits["possible"], true);
    }
    server_.reset();
    EXPECT_FALSE(fs::exists(data() / "tray.json"));
    EXPECT_TRUE(fs::is_empty(data() / "corrections"));
    EXPECT_TRUE(fs::exists(data() / "taken-over" / "tray.json"));
    // And so they are part of a backup.
    const auto record = record::Record::open(record::RecordPlace::below(data())).value();
    EXPECT_THAT(record::check(*record).value().problems, IsEmpty());
    EXPECT_EQ(record->scans().find(scan_id)->sha256, record::sha256_hex(small_nrrd()));
    ASSERT_TRUE(record::backup(*record, root_ / "kept"));
    ASSERT_TRUE(
        record::FileVault::at(root_ / "kept" / "files").get(record::sha256_hex(small_nrrd())));
}

TEST_F(TakenOverTest, AScanWhoseTakingOverWasInterruptedIsTakenOverAgain) {
    server_.reset();
    keep_scan(scan_id, description(scan_id, "scan.nrrd", true), true);
    {
        // As after a kill between the vault and the row, and after one between the row and the
        // rest.
        const auto record = record::Record::open(record::RecordPlace::below(data())).value();
        ASSERT_TRUE(record->vault().put(small_nrrd()));
        start();
        server_.reset();
        keep_scan(scan_id, description(scan_id, "scan.nrrd", true), true);
    }
    start();
    EXPECT_EQ(json_of(200, "GET", "/api/scans")["scans"].size(), 1u);
    EXPECT_EQ(ask("GET", "/api/scans/" + scan_id + "/brick").status, 200);
}

TEST_F(TakenOverTest, AScanWithoutItsFileIsLeftWhereItIs) {
    server_.reset();
    keep_scan(scan_id, description(scan_id, "scan.nrrd", true), false);
    start();
    EXPECT_TRUE(json_of(200, "GET", "/api/scans")["scans"].empty());
    EXPECT_TRUE(fs::exists(data() / "scans" / scan_id / "scan.json"));
}

TEST_F(TakenOverTest, AScanWhoseDescriptionIsDamagedIsLeftWhereItIs) {
    server_.reset();
    const std::vector<std::pair<const char*, json>> damages{
        {"path", 7}, {"created", json::array()}, {"label", nullptr}};
    for (const auto& [key, value] : damages) {
        json damaged = description(scan_id, "scan.nrrd", true);
        damaged[key] = value;
        keep_scan(scan_id, damaged, true);
        start();
        EXPECT_TRUE(json_of(200, "GET", "/api/scans")["scans"].empty()) << key;
        EXPECT_TRUE(fs::exists(data() / "scans" / scan_id / "scan.json")) << key;
        server_.reset();
    }
    json damaged = description(scan_id, "scan.nrrd", true);
    damaged["uploaded"] = "yes";
    keep_scan(scan_id, damaged, true);
    start();
    EXPECT_TRUE(fs::exists(data() / "scans" / scan_id / "scan.nrrd"));
}

}  // namespace
}  // namespace anfract::server
