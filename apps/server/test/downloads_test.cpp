#include <cstring>
#include <fstream>
#include <map>

#include "anfract/record/zip_file.h"
#include "workspace_fixture.h"

namespace anfract::server {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;
using ::testing::Not;
using ::testing::StartsWith;
namespace fs = std::filesystem;

/// A case whose record names an invented patient.
class DownloadsTest : public WorkspaceTest {
  protected:
    void SetUp() override {
        WorkspaceTest::SetUp();
        id_ = json_of(201, "POST", "/api/cases", json{{"tooth", hand_made_tooth()}}.dump())["id"];
        json_of(
            200, "PUT", one() + "/record",
            json{{"based_on", 0},
                 {"record",
                  {{"patient", {{"name", "Inventa Mustermann"}, {"reference", "I-7"}}},
                   {"referral", {{"from", "Dr Invented Referrer"}, {"address", "1 Lane\nTown"}}},
                   {"prognosis", "favourable"}}}}
                .dump());
    }
    std::string one() const { return "/api/cases/" + id_; }
    /// The bytes of a download, whose name must not tell whose it is.
    std::string bytes_of(const std::string& name, const std::string& type,
                         const std::string& query = "") {
        const http::test::Reply reply = ask("GET", one() + "/" + name + query);
        EXPECT_EQ(reply.status, 200) << name << ": " << reply.body.substr(0, 300);
        if (reply.status != 200) return "";
        EXPECT_THAT(reply.headers.at("content-type"), StartsWith(type)) << name;
        const std::size_t dot = name.find('.');
        EXPECT_EQ(reply.headers.at("content-disposition"), "attachment; filename=\"anfract-" +
                                                               name.substr(0, dot) + "-" + id_ +
                                                               name.substr(dot) + "\"");
        return reply.body;
    }
    std::map<std::string, std::uint64_t> names_in(const std::string& zip_bytes) {
        std::ofstream(root_ / "got.zip", std::ios::binary) << zip_bytes;
        const auto zip = record::ZipReader::open(root_ / "got.zip");
        EXPECT_TRUE(zip);
        return zip ? zip->names().value() : std::map<std::string, std::uint64_t>{};
    }
    std::string id_;
};

TEST_F(DownloadsTest, PapersSayWhatTheRecordTells) {
    for (const char* paper : {"letter", "leaflet", "discharge"}) {
        EXPECT_THAT(bytes_of(std::string(paper) + ".pdf", "application/pdf"), StartsWith("%PDF-"));
        const std::string html = bytes_of(std::string(paper) + ".html", "text/html");
        EXPECT_THAT(html, HasSubstr("<html lang=\"en\"")) << paper;
    }
    EXPECT_THAT(bytes_of("letter.html", "text/html"), HasSubstr("Dr Invented Referrer"));
    EXPECT_THAT(bytes_of("leaflet.html", "text/html"), HasSubstr("Inventa Mustermann"));
    const std::string discharge = bytes_of("discharge.html", "text/html");
    for (const char* words : {"favourable", "Patient: Inventa Mustermann", "Dr Invented Referrer"})
        EXPECT_THAT(discharge, HasSubstr(words));
    EXPECT_THAT(bytes_of("leaflet.html", "text/html", "?language=de"), HasSubstr("lang=\"de\""));
    refuses(400, "GET", one() + "/leaflet.html?language=xx");
    for (const char* name : {"letter.html", "leaflet.pdf", "discharge.pdf", "fhir.json",
                             "dicom.zip", "model.stl", "archive.zip"})
        refuses(404, "GET", std::string("/api/cases/0123456789abcdef/") + name);
}

TEST_F(DownloadsTest, TheDischargeLetterSpeaksGermanToo) {
    const std::string german = bytes_of("discharge.html", "text/html", "?language=de");
    for (const char* part : {"lang=\"de\"", "Sehr geehrte Kollegin", "Mit freundlichen Grüßen"})
        EXPECT_THAT(german, HasSubstr(part));
    EXPECT_THAT(german, Not(HasSubstr("Dear")));
    refuses(400, "GET", one() + "/discharge.pdf?language=xx");
}

TEST_F(DownloadsTest, TheDischargeLetterShowsTheNewestRadiograph) {
    const auto discharge = [&] { return bytes_of("discharge.html", "text/html"); };
    EXPECT_THAT(discharge(), Not(HasSubstr("<img")));
    // A grey PNG of one pixel (ISO/IEC 15948).
    const std::string png(
        "\211PNG\015\012\032\012\000\000\000\015IHDR\000\000\000\001\000\000\000\001\010\000\000"
        "\000\000:~\233U"
        "\000\000\000\012IDATx\234ch\000\000\000\202\000\201w\315r\266"
        "\000\000\000\000IEND\256B`\202",
        67);
    ASSERT_EQ(ask("POST", one() + "/files?kind=radiograph&name=final.png", png,
                  {{"Content-Type", "application/octet-stream"}})
                  .status,
              201);
    EXPECT_THAT(discharge(), HasSubstr("Radiograph final.png"));
    EXPECT_THAT(discharge(), HasSubstr("<img"));
    EXPECT_THAT(discharge(), Not(HasSubstr("cannot be read")));
}

TEST_F(DownloadsTest, WhatIsGivenOutIsKeptWithTheCase) {
    const auto files = [&] { return json_of(200, "GET", one() + "/files")["files"]; };
    const std::size_t before = files().size();
    const auto post = [&](const std::string& paper) {
        return ask("POST", one() + "/" + paper, "{}");
    };
    const http::test::Reply given = post("discharge.html?language=de");
    ASSERT_EQ(given.status, 200) << given.body;
    EXPECT_THAT(given.headers.at("content-disposition"), HasSubstr("anfract-discharge-" + id_));
    EXPECT_EQ(post("letter.pdf").status, 200);
    EXPECT_EQ(post("leaflet.pdf").status, 200);
    EXPECT_EQ(post("discharge.html?language=xx").status, 400);
    const json all = files();
    ASSERT_EQ(all.size(), before + 3);
    std::map<std::string, std::string> names;
    for (const json& file : all) names[file["kind"]] = file["name"];
    EXPECT_EQ(names["discharge"], "Dr Invented Referrer.html");
    EXPECT_EQ(names["letter"], "Dr Invented Referrer.pdf");
    EXPECT_EQ(names["leaflet"], "Inventa Mustermann.pdf");
    EXPECT_EQ(ask("GET", one() + "/files/discharge/1").body, given.body);
}

TEST_F(DownloadsTest, TheLetterheadIsThePracticesOwn) {
    ServeOptions options;
    options.letter = root_ / "letter.json";
    std::ofstream(options.letter) << R"({"format": "anfract.letter", "version": 1,)"
                                  << R"( "practice": ["Practice of our own"]})";
    start(options);
    EXPECT_THAT(bytes_of("letter.html", "text/html"), HasSubstr("Practice of our own"));
    server_.reset();
    std::ofstream(options.letter) << "no letter";
    options.data = root_ / "data";
    const auto started = WorkspaceServer::start(options, Progress());
    ASSERT_FALSE(started);
    EXPECT_THAT(started.error().sentence(), HasSubstr("letter.json"));
}

TEST_F(DownloadsTest, OtherProgramsGetThePlanAndThePatient) {
    const json bundle = json::parse(bytes_of("fhir.json", "application/fhir+json"));
    EXPECT_EQ(bundle["resourceType"], "Bundle");
    EXPECT_THAT(bundle.dump(), HasSubstr("Inventa Mustermann"));
    const auto objects = names_in(bytes_of("dicom.zip", "application/zip"));
    for (const char* name : {"measurements.dcm", "canals.dcm", "letter.dcm", "ruler.dcm",
                             "section-buccal.dcm", "section-mesial.dcm"})
        EXPECT_TRUE(objects.contains(name)) << name;
}

TEST_F(DownloadsTest, AModelToPrintIsABlockWhereTheToothHasNoSurface) {
    // Binary STL: 80 bytes and a count of triangles, 50 bytes each (from memory).
    const std::string stl = bytes_of("model.stl", "model/stl", "?body=block&scale=2");
    ASSERT_GT(stl.size(), 84u);
    std::uint32_t triangles = 0;
    std::memcpy(&triangles, stl.data() + 80, 4);
    EXPECT_EQ(stl.size(), 84u + 50u * triangles);
    EXPECT_THAT(bytes_of("model.3mf", "model/3mf", "?body=block"), StartsWith("PK"));  // a zip
    refuses(400, "GET", one() + "/model.stl?body=tooth");
    refuses(400, "GET", one() + "/model.stl?body=crown");
    refuses(400, "GET", one() + "/model.stl?body=block&scale=two");
    refuses(400, "GET", one() + "/model.stl?body=block&scale=1000");
}

TEST_F(DownloadsTest, AnArchiveGoesOutAndComesBackEqualElsewhere) {
    const std::string archive = bytes_of("archive.zip", "application/zip");
    const json record = json_of(200, "GET", one() + "/record"),
               all = json_of(200, "GET", "/api/cases");
    EXPECT_TRUE(fs::is_empty(root_ / "data" / "uploads"));
    const http::test::Headers bytes{{"Content-Type", "application/octet-stream"}};
    const auto send = [&](const std::string& body) {
        return ask("POST", "/api/archives", body, bytes);
    };
    EXPECT_EQ(json::parse(send(archive).body)["was_there"], true);
    server_.reset();
    fs::remove_all(root_ / "data");
    start();
    EXPECT_TRUE(json_of(200, "GET", "/api/cases")["cases"].empty());
    const http::test::Reply taken = send(archive);
    ASSERT_EQ(taken.status, 201) << taken.body;
    EXPECT_EQ(json::parse(taken.body)["case"], id_);
    EXPECT_EQ(json_of(200, "GET", "/api/cases"), all);
    EXPECT_EQ(json_of(200, "GET", one() + "/record"), record);
    EXPECT_EQ(send(archive).status, 200);
    for (const std::string& bad : {std::string("no archive"), archive.substr(0, archive.size() / 2),
                                   std::string(5000, '\0')}) {
        const http::test::Reply refused = send(bad);
        EXPECT_EQ(refused.status, 400) << refused.body;
        EXPECT_THAT(refused.body, Not(HasSubstr(root_.string())));
    }
    EXPECT_TRUE(fs::is_empty(root_ / "data" / "uploads"));
}

/// Processor time of this program, in which the server runs.
double used_s() {
    timespec time{};
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
    return double(time.tv_sec) + 1e-9 * double(time.tv_nsec);
}

TEST_F(DownloadsTest, WhatNobodyWaitsForIsNotMadeToTheEnd) {
    const std::string other =
        json_of(201, "POST", "/api/cases", json{{"tooth", hand_made_tooth()}}.dump())["id"];
    const double before_s = used_s();
    EXPECT_EQ(ask("GET", one() + "/leaflet.html").status, 200);
    const double whole_s = used_s() - before_s;
    const double begin_s = used_s();
    {
        http::test::RawConnection client(server_->port());
        client.send("GET /api/cases/" + other +
                    "/leaflet.html HTTP/1.1\r\nHost: localhost\r\n\r\n");
        while (used_s() - begin_s < whole_s / 10)
            std::this_thread::sleep_for(std::chrono::milliseconds(1));
    }
    // Until nothing is done any more, that is, for a while hardly more than waiting costs.
    for (double last_s = 0, now_s = used_s(); now_s - last_s > 0.02; now_s = used_s()) {
        last_s = now_s;
        std::this_thread::sleep_for(std::chrono::milliseconds(500));
    }
    EXPECT_LT(used_s() - begin_s, whole_s / 2) << "of " << whole_s << " s";
}

TEST_F(DownloadsTest, WhoTookWhatIsInTheRecord) {
    bytes_of("archive.zip", "application/zip");
    bytes_of("fhir.json", "application/fhir+json");
    std::string told;
    const json looks = json_of(200, "GET", "/api/access?subject=" + id_);
    for (const json& line : looks["lines"]) told += line["what"].get<std::string>() + "\n";
    EXPECT_THAT(told, HasSubstr("GET /api/cases/{id}/archive.zip"));
    EXPECT_THAT(told, HasSubstr("GET /api/cases/{id}/fhir.json"));
}

}  // namespace
}  // namespace anfract::server
