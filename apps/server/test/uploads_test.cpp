// What a hostile or unlucky sender may send, over HTTP: refused with one sentence, and nothing of
// it or of what was there is lost or left behind.

#include <sys/mount.h>
#include <zip.h>

#include "anfract/record/archive.h"
#include "scan_files.h"
#include "workspace_fixture.h"

namespace anfract::server {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
namespace fs = std::filesystem;

const http::test::Headers octets{{"Content-Type", "application/octet-stream"}};

class UploadsTest : public WorkspaceTest {
  protected:
    struct Entry {
        std::string name, bytes;
    };
    std::string zipped(const std::vector<Entry>& entries) {
        const fs::path file = root_ / "made.zip";
        int error = 0;
        zip_t* archive = zip_open(file.c_str(), ZIP_CREATE | ZIP_TRUNCATE, &error);
        for (const Entry& entry : entries) {
            zip_source_t* source =
                zip_source_buffer(archive, entry.bytes.data(), entry.bytes.size(), 0);
            zip_file_add(archive, entry.name.c_str(), source, ZIP_FL_ENC_UTF_8);
        }
        EXPECT_EQ(zip_close(archive), 0);
        std::string bytes = read_file(file).value();
        fs::remove(file);
        return bytes;
    }
    http::test::Reply send(const std::string& name, const std::string& bytes) {
        return ask("POST", "/api/uploads?name=" + name, bytes, octets);
    }
    /// Refused in one sentence without a path of this machine; nothing of it stays.
    void refuses_upload(const std::string& name, const std::string& bytes, const std::string& why) {
        const auto before = count_files();
        const http::test::Reply reply = send(name, bytes);
        EXPECT_GE(reply.status, 400) << name;
        EXPECT_LT(reply.status, 500) << name << reply.body;
        EXPECT_THAT(reply.body, HasSubstr(why)) << name;
        EXPECT_EQ(reply.body.find(root_.string()), std::string::npos) << reply.body;
        EXPECT_EQ(count_files(), before) << name;
        EXPECT_TRUE(json_of(200, "GET", "/api/scans")["scans"].empty());
    }
    /// Files of the data directory, but those of the database.
    std::ptrdiff_t count_files() const {
        std::ptrdiff_t count = 0;
        for (const auto& entry : fs::recursive_directory_iterator(root_ / "data"))
            count += entry.is_regular_file() &&
                     !entry.path().filename().string().starts_with("record.sqlite");
        return count;
    }
};

TEST_F(UploadsTest, ZipBombsAreRefused) {
    const std::string zeros(std::size_t{80} << 20, '\0');
    refuses_upload("bomb.zip", zipped({{"a.dcm", zeros}}), "unpacks to far more");
    // One zip in another is not unpacked again.
    const std::string inner = zipped({{"a.dcm", zeros}});
    refuses_upload("nested.zip", zipped({{"inner.zip", inner}}), "");
    std::vector<Entry> many;
    for (int i = 0; i < 3000; ++i) many.push_back({"a" + std::to_string(i) + ".dcm", ""});
    refuses_upload("many.zip", zipped(many), "");
}

TEST_F(UploadsTest, NoNameLeadsOutOfTheDataDirectory) {
    const fs::path escaped = root_ / "escaped.nrrd";
    for (const std::string& name :
         {std::string("../../escaped.nrrd"), escaped.string(), std::string("..\\..\\escaped.nrrd"),
          std::string("a/../../../escaped.nrrd")}) {
        // Both are scans, and are taken in under names of ours.
        for (const http::test::Reply& reply :
             {send("..%2F..%2Fescaped.nrrd", small_nrrd()),
              send("..%2Fevil.zip", zipped({{name, small_nrrd()}}))}) {
            ASSERT_EQ(reply.status, 201) << name << reply.body;
            const json scan = json::parse(reply.body);
            EXPECT_EQ(scan.value("label", "").find('/'), std::string::npos);
            EXPECT_EQ(ask("DELETE", "/api/scans/" + scan.value("id", "")).status, 204);
        }
        EXPECT_FALSE(fs::exists(escaped));
        EXPECT_FALSE(fs::exists(root_.parent_path() / "escaped.nrrd"));
    }
    // A link in a zip is not followed.
    refuses_upload("link.zip", zipped({{"scan.nrrd", "/etc/passwd"}}), "");
    EXPECT_EQ(ask("GET", "/api/scans/..%2f..%2frecord.sqlite/brick").status, 400);
    EXPECT_EQ(ask("GET", "/api/scans/%2e%2e/brick").status, 400);
}

TEST_F(UploadsTest, MalformedFilesAreRefused) {
    const std::string good = small_nrrd();
    std::string huge = good;
    huge.replace(huge.find("sizes: 10 8 6"), 13, "sizes: 99999 99999 99999");
    std::string negative = good;
    negative.replace(negative.find("sizes: 10 8 6"), 13, "sizes: -1 8 6");
    for (const auto& [name, bytes] : std::vector<Entry>{
             {"empty.nrrd", ""},
             {"cut.nrrd", good.substr(0, good.size() / 2)},
             {"header.nrrd", good.substr(0, 40)},
             {"huge.nrrd", huge},
             {"negative.nrrd", negative},
             {"noise.dcm", std::string(128, '\0') + "DICM" + std::string(4000, '\xff')},
             {"noise.nii.gz", "\x1f\x8b\x08" + std::string(4000, '\x55')},
             {"cut.zip", zipped({{"scan.nrrd", good}}).substr(0, 100)},
             {"page.dcm", "<html><script>alert(1)</script></html>"}})
        refuses_upload(name, bytes, "\"sentence\":");
}

TEST_F(UploadsTest, DamagedBodiesOfOtherRoutesAreRefused) {
    const std::string id =
        json_of(201, "POST", "/api/cases", json{{"tooth", hand_made_tooth()}}.dump())["id"];
    const std::string deep = std::string(100'000, '[') + std::string(100'000, ']');
    for (const char* target : {"/record", "/log", "/edits", "/rehearse"}) {
        const std::string method = target == std::string("/record") ? "PUT" : "POST";
        for (const std::string& body :
             {deep, std::string("\xff\xfe\x00{", 4), std::string("{\"a\":1e999}"),
              std::string("{\"record\":"), std::string("null")}) {
            const int status = ask(method, "/api/cases/" + id + target, body).status;
            EXPECT_GE(status, 400) << target;
            EXPECT_LT(status, 500) << target;
        }
    }
    EXPECT_EQ(ask("GET", "/api/cases/" + id).status, 200);
}

/// The workspace on a disk of a few MB. Needs the right to mount, as in the containers the tests
/// run in.
class SmallDiskUploads : public UploadsTest {
  protected:
    void SetUp() override {
        fs::create_directories(root_);
        mounted_ = ::mount("tmpfs", root_.c_str(), "tmpfs", 0, "size=4m") == 0;
        if (!mounted_) GTEST_SKIP() << "there is no right to mount a disk";
        start();
    }
    void TearDown() override {
        server_.reset();
        if (mounted_) ::umount(root_.c_str());
        fs::remove_all(root_);
    }
    bool mounted_ = false;
};

TEST_F(SmallDiskUploads, AnUploadThatFillsTheDiskIsRefusedAndNothingIsLost) {
    const std::string id =
        json_of(201, "POST", "/api/cases", json{{"tooth", hand_made_tooth()}}.dump())["id"];
    ASSERT_EQ(send("a.nrrd", small_nrrd()).status, 201);
    const auto before = count_files();
    const std::string large = small_nrrd(160, 160, 100);  // 5 MB
    const http::test::Reply told = send("large.nrrd", large);
    EXPECT_EQ(told.status, 507) << told.body;
    EXPECT_THAT(told.body, HasSubstr("disk_full"));
    // The same without a length, so that the disk is full in the middle.
    http::test::RawConnection chunked(server_->port());
    chunked.send(
        "POST /api/uploads?name=large.nrrd HTTP/1.1\r\nHost: localhost\r\nContent-Type: "
        "application/octet-stream\r\nTransfer-Encoding: chunked\r\n\r\n");
    for (std::size_t at = 0; at < large.size(); at += 0x40000) {
        const std::string piece = large.substr(at, 0x40000);
        char length[20];
        std::snprintf(length, sizeof length, "%zx\r\n", piece.size());
        if (!chunked.send(length + piece + "\r\n")) break;
    }
    EXPECT_THAT(chunked.read_until("}}"), HasSubstr(" 507 "));
    EXPECT_EQ(count_files(), before);
    EXPECT_EQ(json_of(200, "GET", "/api/scans")["scans"].size(), 1u);
    EXPECT_EQ(ask("GET", "/api/cases/" + id).status, 200);
    // And there is room for the next one.
    EXPECT_EQ(send("b.nrrd", small_nrrd(11, 8, 6)).status, 201);
    server_.reset();
    const auto record = record::Record::open(record::RecordPlace::below(root_ / "data")).value();
    EXPECT_THAT(record::check(*record).value().problems, IsEmpty());
}

TEST_F(SmallDiskUploads, ADiskThatTurnsReadOnlyRefusesAndStillShows) {
    const std::string id =
        json_of(201, "POST", "/api/cases", json{{"tooth", hand_made_tooth()}}.dump())["id"];
    const std::string log = "/api/cases/" + id + "/log";
    const std::string entry = R"({"entries":[{"entry_id":"00000000-0000-4000-8000-000000000001",)"
                              R"("at":"2026-01-31T12:00:00Z","kind":"opened"}]})";
    // The database is open for writing, so the disk itself refuses by being full to the last byte.
    std::string fill(std::size_t{1} << 20, 'f');
    std::FILE* file = std::fopen((root_ / "fill").c_str(), "wb");
    while (std::fwrite(fill.data(), 1, fill.size(), file) == fill.size() &&
           std::fflush(file) == 0) {
    }
    std::fclose(file);
    const json refused = json_of(507, "POST", log, entry);
    EXPECT_EQ(refused["error"]["code"], "disk_full");
    // What was planned can still be looked at, although the look cannot be recorded now.
    EXPECT_EQ(ask("GET", "/api/cases/" + id).status, 200);
    EXPECT_TRUE(json_of(200, "GET", log)["entries"].empty());
    fs::remove(root_ / "fill");
    EXPECT_EQ(ask("POST", log, entry).status, 200);
    EXPECT_EQ(ask("GET", "/api/cases/" + id + "/record").status, 200);
    // The look of before is written with the next one.
    const json lines = json_of(200, "GET", "/api/access?subject=" + id)["lines"];
    EXPECT_EQ(lines.size(), 3u) << lines;
    server_.reset();
    ASSERT_EQ(::mount("tmpfs", root_.c_str(), "tmpfs", MS_REMOUNT | MS_RDONLY, "size=4m"), 0);
    ServeOptions options;
    options.data = root_ / "data";
    const auto started = WorkspaceServer::start(options, Progress());
    ASSERT_FALSE(started);
    EXPECT_THAT(started.error().sentence(), HasSubstr("written to"));
    ASSERT_EQ(::mount("tmpfs", root_.c_str(), "tmpfs", MS_REMOUNT, "size=4m"), 0);
    start();
    EXPECT_EQ(json_of(200, "GET", log)["entries"].size(), 1u);
}

}  // namespace
}  // namespace anfract::server
