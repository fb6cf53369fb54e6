#include <zip.h>

#include <cstring>
#include <future>
#include <thread>

#include "anfract/phantom/phantom.h"
#include "anfract/phantom/phantom_file.h"
#include "anfract/record/file_vault.h"
#include "anfract/record/hash.h"
#include "scan_files.h"
#include "workspace_fixture.h"

namespace anfract::server {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;
namespace fs = std::filesystem;

const http::test::Headers octets{{"Content-Type", "application/octet-stream"}};

/// A rather coarse invented tooth, made once.
const Phantom& small_phantom() {
    static const Phantom phantom = [] {
        PhantomOptions options;
        options.kind = "lower-molar";
        options.voxel_mm = 0.2;
        options.psf_fwhm_mm = 0.3;
        return make_phantom(options, Progress()).value();
    }();
    return phantom;
}

class ScansTest : public WorkspaceTest {
  protected:
    void SetUp() override {
        WorkspaceTest::SetUp();
        ASSERT_TRUE(write_file_atomically(root_ / "small.nrrd", small_nrrd()));
    }
    std::string open(const fs::path& path) {
        return json_of(201, "POST", "/api/scans", json{{"path", path.string()}}.dump())
            .value("id", "");
    }
    std::string open_small() { return open(root_ / "small.nrrd"); }

    /// A zip of all files below a folder.
    std::string zipped(const fs::path& folder) {
        const fs::path file = root_ / "made.zip";
        int error = 0;
        zip_t* archive = zip_open(file.c_str(), ZIP_CREATE | ZIP_TRUNCATE, &error);
        EXPECT_NE(archive, nullptr);
        for (const auto& entry : fs::recursive_directory_iterator(folder)) {
            if (!entry.is_regular_file()) continue;
            zip_source_t* source = zip_source_file(archive, entry.path().c_str(), 0, -1);
            zip_file_add(archive, entry.path().lexically_relative(folder).c_str(), source,
                         ZIP_FL_ENC_UTF_8);
        }
        EXPECT_EQ(zip_close(archive), 0);
        return read_file(file).value();
    }
};

TEST_F(ScansTest, OpensAScanWhereItLiesAndRemembersIt) {
    const json scan =
        json_of(201, "POST", "/api/scans", json{{"path", (root_ / "small.nrrd").string()}}.dump());
    EXPECT_EQ(scan["label"], "small.nrrd");
    EXPECT_EQ(scan["geometry"]["size"], json({10, 8, 6}));
    EXPECT_EQ(scan["geometry"]["origin_mm"], json({-2.0, 3.0, 4.0}));
    EXPECT_EQ(scan["geometry"]["direction"], json({1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0}));
    EXPECT_LT(scan["grey"]["low"], scan["grey"]["high"]);
    EXPECT_EQ(scan.dump().find(root_.string()), std::string::npos);  // the path stays here
    EXPECT_EQ(open_small(), scan["id"]);                             // and is not listed twice
    start();
    EXPECT_EQ(json_of(200, "GET", "/api/scans")["scans"], json::array({scan}));
}

TEST_F(ScansTest, SendsBricksWithTheirGrid) {
    const std::string id = open_small();
    const http::test::Reply whole = ask("GET", "/api/scans/" + id + "/brick");
    ASSERT_EQ(whole.status, 200);
    EXPECT_EQ(whole.headers.at("content-type"), "application/octet-stream");
    EXPECT_EQ(whole.body, small_nrrd().substr(small_nrrd().find("\n\n") + 2));
    const http::test::Reply part =
        ask("GET", "/api/scans/" + id + "/brick?centre=0,4,5&half=0.5,0.5,0.5&step=2");
    const json grid = json::parse(part.headers.at("x-anfract-grid"));
    EXPECT_EQ(grid["spacing_mm"], json({1.0, 1.0, 1.0}));
    EXPECT_EQ(part.body.size(), 2u * grid["size"][0].get<int>() * grid["size"][1].get<int>() *
                                    grid["size"][2].get<int>());
    std::int16_t first = 0;
    std::memcpy(&first, part.body.data(), 2);
    // The mean of the ramp is its value at the middle of the block: i = (x + 2) / 0.5 and so on.
    const double i = (grid["origin_mm"][0].get<double>() + 2) / 0.5,
                 j = (grid["origin_mm"][1].get<double>() - 3) / 0.5,
                 k = (grid["origin_mm"][2].get<double>() - 4) / 0.5;
    EXPECT_NEAR(first, i + 10 * j + 100 * k, 0.5);
}

TEST_F(ScansTest, RefusesBricksThatAreNone) {
    const std::string brick = "/api/scans/" + open_small() + "/brick?";
    for (const char* query :
         {"centre=1,2,3", "half=1,2,3", "centre=a,b,c&half=1,1,1", "centre=1,2&half=1,1,1",
          "centre=1,2,nan&half=1,1,1", "centre=999,0,0&half=1,1,1", "step=0", "step=x", "step=1.5",
          "step=65", "step=-1", "step=99999999999999999999"}) {
        refuses(400, "GET", brick + query);
    }
}

TEST_F(ScansTest, RefusesWhatIsNoScan) {
    ASSERT_TRUE(write_file_atomically(root_ / "text.nrrd", "not a scan"));
    refuses(404, "POST", "/api/scans", json{{"path", (root_ / "none").string()}}.dump());
    refuses(400, "POST", "/api/scans", json{{"path", (root_ / "text.nrrd").string()}}.dump());
    refuses(400, "POST", "/api/scans", json{{"path", ""}}.dump());
    refuses(400, "POST", "/api/scans", json{{"path", 7}}.dump());
    refuses(400, "POST", "/api/scans", "{\"path\":");
    refuses(404, "POST", "/api/scans", json{{"upload", "0123456789abcdef"}}.dump());
    EXPECT_TRUE(json_of(200, "GET", "/api/scans")["scans"].empty());
    EXPECT_TRUE(fs::is_empty(root_ / "data" / "scans"));
}

TEST_F(ScansTest, KnowsNoScanOfAnotherName) {
    for (const std::string& id :
         {std::string("0123456789abcdef"), std::string("x"), std::string("...")}) {
        refuses(404, "GET", "/api/scans/" + id);
        refuses(404, "GET", "/api/scans/" + id + "/brick");
        refuses(404, "DELETE", "/api/scans/" + id);
        refuses(404, "POST", "/api/scans/" + id + "/traces", R"({"inside_mm":[0,0,0]})");
    }
}

TEST_F(ScansTest, SaysSoWhenTheFileHasGone) {
    const std::string id = open_small();
    server_.reset();
    fs::remove(root_ / "small.nrrd");
    start();
    refuses(404, "GET", "/api/scans/" + id + "/brick");
    EXPECT_EQ(ask("DELETE", "/api/scans/" + id).status, 204);
    EXPECT_TRUE(json_of(200, "GET", "/api/scans")["scans"].empty());
}

// ---- uploads ----

TEST_F(ScansTest, TakesAnUploadIntoItsOwnKeeping) {
    const auto reply = ask("POST", "/api/uploads?name=my%20scan.nrrd", small_nrrd(), octets);
    ASSERT_EQ(reply.status, 201) << reply.body;
    const json scan = json::parse(reply.body);
    EXPECT_EQ(scan["label"], "my scan.nrrd");
    const record::FileVault vault = record::FileVault::at(root_ / "data" / "files");
    const fs::path file = vault.path(record::sha256_hex(small_nrrd()));
    EXPECT_EQ(read_file(file).value(), small_nrrd());
    EXPECT_EQ(fs::status(file).permissions(), fs::perms(0600));
    EXPECT_TRUE(fs::is_empty(root_ / "data" / "uploads"));
    start();
    EXPECT_EQ(ask("GET", "/api/scans/" + scan["id"].get<std::string>() + "/brick").status, 200);
    EXPECT_EQ(ask("DELETE", "/api/scans/" + scan["id"].get<std::string>()).status, 204);
    EXPECT_FALSE(fs::exists(file));
}

TEST_F(ScansTest, AnUploadThatIsNoScanLeavesNothing) {
    for (const char* name :
         {"a.nrrd", "a.zip", "a.dcm", "a.nii.gz", "a", "..%2f..%2fescape.nrrd"}) {
        const auto reply =
            ask("POST", std::string("/api/uploads?name=") + name, "not a scan", octets);
        EXPECT_GE(reply.status, 400) << name;
        EXPECT_LT(reply.status, 500) << name << reply.body;
        EXPECT_EQ(reply.body.find(root_.string()), std::string::npos) << reply.body;
    }
    EXPECT_EQ(ask("POST", "/api/uploads", small_nrrd(), octets).status, 400);
    EXPECT_EQ(ask("POST", "/api/uploads?name=a.nrrd", small_nrrd()).status, 415);
    EXPECT_TRUE(fs::is_empty(root_ / "data" / "uploads"));
    EXPECT_TRUE(fs::is_empty(root_ / "data" / "scans"));
}

TEST_F(ScansTest, RefusesAnUploadOverTheLimit) {
    ServeOptions options;
    options.upload_limit_bytes = 1000;
    start(options);
    EXPECT_EQ(ask("POST", "/api/uploads?name=a.nrrd", small_nrrd(20, 20, 20), octets).status, 413);
    EXPECT_TRUE(fs::is_empty(root_ / "data" / "uploads"));
}

TEST_F(ScansTest, TakesTwoUploadsAtOnce) {
    const auto upload = [&](int size) {
        return ask("POST", "/api/uploads?name=a.nrrd", small_nrrd(size, size, size), octets).status;
    };
    auto other = std::async(std::launch::async, upload, 60);
    EXPECT_EQ(upload(61), 201);
    EXPECT_EQ(other.get(), 201);
    EXPECT_EQ(json_of(200, "GET", "/api/scans")["scans"].size(), 2u);
}

TEST_F(ScansTest, LetsTheUserChooseAmongSeveralSeries) {
    PhantomOptions options;
    options.kind = "lower-premolar";
    options.voxel_mm = 0.5;
    options.noise = 0;
    const Phantom one = make_phantom(options, Progress()).value();
    options.seed = 2;
    const Phantom two = make_phantom(options, Progress()).value();
    fs::create_directories(root_ / "both");
    ASSERT_TRUE(write_phantom(one, root_ / "both" / "a", false, Progress()));
    ASSERT_TRUE(write_phantom(two, root_ / "both" / "b", false, Progress()));

    const json by_path =
        json_of(409, "POST", "/api/scans", json{{"path", (root_ / "both").string()}}.dump());
    ASSERT_EQ(by_path["candidates"].size(), 2u) << by_path;
    EXPECT_GT(by_path["candidates"][0]["slices"], 1);

    const auto reply = ask("POST", "/api/uploads?name=both.zip", zipped(root_ / "both"), octets);
    ASSERT_EQ(reply.status, 409) << reply.body;
    const json choice = json::parse(reply.body);
    const std::string uid = choice["candidates"][1]["series_uid"];
    // A series that is not there is refused, and the upload goes on waiting or is sent again; then
    // the right one.
    const json chosen = json_of(201, "POST", "/api/scans",
                                json{{"upload", choice["upload"]}, {"series_uid", uid}}.dump());
    EXPECT_EQ(chosen["series_uid"], uid);
    EXPECT_EQ(chosen["label"], "both.zip");
    EXPECT_EQ(chosen["invented"], true);
    EXPECT_TRUE(fs::is_empty(root_ / "data" / "uploads"));
}

// ---- from a scan to a case ----

class TracesTest : public ScansTest {
  protected:
    void SetUp() override {
        ScansTest::SetUp();
        ASSERT_TRUE(write_phantom(small_phantom(), root_ / "phantom", false, Progress()));
        scan_ = open(root_ / "phantom" / "scan");
    }
    std::string start_trace() {
        const Vec3 inside = small_phantom().inside_P;
        const json body{{"inside_mm", {inside.x(), inside.y(), inside.z()}}, {"fdi", "36"}};
        return json_of(202, "POST", "/api/scans/" + scan_ + "/traces", body.dump())
            .value("job", "");
    }
    std::string events(const std::string& job, const std::string& until) {
        http::test::RawConnection listener(server_->port());
        listener.send("GET /api/jobs/" + job + "/events HTTP/1.1\r\nHost: localhost\r\n\r\n");
        return listener.read_until(until, std::chrono::minutes(4));
    }
    std::string scan_;
};

TEST_F(TracesTest, LeadsFromAClickToACase) {
    const json surveyed = json_of(200, "GET", "/api/scans/" + scan_);
    EXPECT_EQ(surveyed["survey"]["format"], "anfract.survey");
    EXPECT_EQ(json_of(200, "GET", "/api/scans/" + scan_), surveyed);  // the stored one

    const std::string job = start_trace();
    const std::string heard = events(job, "event: done\ndata: {\"case\":\"");
    ASSERT_THAT(heard, HasSubstr("event: progress\ndata: {\"fraction\":"));
    ASSERT_THAT(heard, HasSubstr("event: done\ndata: {\"case\":\""));
    // A listener that comes back late gets the end at once.
    const std::string late = events(job, "\"}\n\n");
    EXPECT_THAT(late, ::testing::Not(HasSubstr("event: progress")));
    const std::size_t at = late.find("\"case\":\"") + 8;
    const std::string id = late.substr(at, 16);

    const json made = json_of(200, "GET", "/api/cases/" + id);
    EXPECT_EQ(made["scan"], scan_);
    EXPECT_EQ(made["invented"], true);
    EXPECT_FALSE(made["tooth"]["canals"].empty());
    EXPECT_EQ(json_of(200, "GET", "/api/cases/" + id + "/measures")["format"], "anfract.measures");
    const http::test::Reply letter = ask("GET", "/api/cases/" + id + "/letter.pdf");
    EXPECT_EQ(letter.status, 200) << letter.body;
    EXPECT_EQ(letter.headers.at("content-type"), "application/pdf");
    EXPECT_THAT(letter.body, ::testing::StartsWith("%PDF-"));
    start();
    EXPECT_EQ(json_of(200, "GET", "/api/cases/" + id), made);
    // Without its scan a case still has its letter.
    EXPECT_EQ(ask("DELETE", "/api/scans/" + scan_).status, 204);
    EXPECT_EQ(ask("GET", "/api/cases/" + id + "/letter.pdf").status, 200);
}

TEST_F(TracesTest, CancelsInTheMiddle) {
    const std::string job = start_trace();
    EXPECT_THAT(events(job, "event: progress"), HasSubstr("event: progress"));
    EXPECT_EQ(ask("DELETE", "/api/jobs/" + job).status, 202);
    EXPECT_THAT(events(job, "event: cancelled\ndata: {}\n\n"),
                HasSubstr("event: cancelled\ndata: {}\n\n"));
    EXPECT_TRUE(json_of(200, "GET", "/api/cases")["cases"].empty());
}

TEST_F(TracesTest, StoppingTheServerStopsAJob) {
    const std::string job = start_trace();
    events(job, "event: progress");
    const auto begin = std::chrono::steady_clock::now();
    server_->stop();
    // Generous: the machine may be busy. What matters is that it does not wait for the trace to
    // end.
    EXPECT_LT(std::chrono::steady_clock::now() - begin, std::chrono::seconds(5));
}

TEST_F(TracesTest, RefusesClicksThatAreNone) {
    const std::string traces = "/api/scans/" + scan_ + "/traces";
    for (const char* body :
         {"{}", "[]", "{", R"({"inside_mm":[1,2]})", R"({"inside_mm":[1,2,"3"]})",
          R"({"inside_mm":[1e6,0,0]})", R"({"inside_mm":[0,0,0],"fdi":36})",
          R"({"inside_mm":[0,0,0],"fdi":"99"})", R"({"inside_mm":[0,0,0],"canals":[{}]})",
          R"({"inside_mm":[0,0,0],"canals":3})", R"({"inside_mm":[0,0,0],"reference_mm":"top"})"}) {
        refuses(400, "POST", traces, body);
    }
}

}  // namespace
}  // namespace anfract::server
