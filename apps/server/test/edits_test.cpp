#include <algorithm>
#include <chrono>
#include <cmath>

#include "anfract/phantom/phantom.h"
#include "anfract/phantom/phantom_file.h"
#include "anfract/record/instant.h"
#include "correction_bench.h"
#include "edit_list.h"
#include "workspace_fixture.h"

namespace anfract::server {
namespace {

using nlohmann::json;

json point(const Vec3& p) { return {p.x(), p.y(), p.z()}; }

/// A tooth of one root, traced over HTTP once for each test.
class EditsTest : public WorkspaceTest {
  protected:
    void SetUp() override {
        WorkspaceTest::SetUp();
        PhantomOptions options;
        options.kind = "upper-lateral";
        options.voxel_mm = 0.2;
        options.psf_fwhm_mm = 0.3;
        const Phantom phantom = make_phantom(options, Progress()).value();
        ASSERT_TRUE(write_phantom(phantom, root_ / "phantom", false, Progress()));
        const json scan = json_of(201, "POST", "/api/scans",
                                  json{{"path", (root_ / "phantom" / "scan").string()}}.dump());
        const json body{{"inside_mm", point(phantom.inside_P)}, {"fdi", "12"}};
        const std::string scan_id = scan.value("id", "");
        finish(json_of(202, "POST", "/api/scans/" + scan_id + "/traces", body.dump()));
        case_ = "/api/cases/" + json_of(200, "GET", "/api/cases")["cases"][0].value("id", "");
    }

    /// Waits for a job to be done.
    void finish(const json& started) {
        http::test::RawConnection listener(server_->port());
        listener.send("GET /api/jobs/" + started.value("job", "") +
                      "/events HTTP/1.1\r\nHost: localhost\r\n\r\n");
        const std::string heard = listener.read_until("\"case\"", std::chrono::minutes(4));
        ASSERT_NE(heard.find("event: done"), std::string::npos) << heard;
    }

    json send(const json& edits, bool keep, int status = 200) {
        return json_of(status, "POST", case_ + "/edits",
                       json{{"edits", edits}, {"keep", keep}}.dump());
    }

    json tooth() { return json_of(200, "GET", case_)["tooth"]; }

    std::string case_;
};

TEST_F(EditsTest, ACorrectedTraceIsKeptTakenBackAndOutlivesARestart) {
    finish(json_of(202, "POST", case_ + "/edits/open", "{}"));
    EXPECT_EQ(json_of(200, "GET", case_ + "/edits")["open"], true);
    const json before = tooth();
    const json& canal = before["canals"][0];
    const auto& points = canal["samples"]["point_mm"];
    const json from = points[points.size() / 2];
    json to = from;
    to[0] = to[0].get<double>() + 0.3;
    const json move{
        {"kind", "move-point"}, {"canal", canal["name"]}, {"from_mm", from}, {"to_mm", to}};

    // While it is dragged nothing is stored, and the fit follows: within 0.2 s, the limit this
    // project sets itself. The quickest of five counts, the machine may be busy with other things.
    json tried;
    double quickest_s = 1e9;
    for (const double further_mm : {-0.2, -0.15, -0.1, -0.05, 0.0}) {
        json there = move;
        there["to_mm"][0] = to[0].get<double>() + further_mm;
        const auto begin = std::chrono::steady_clock::now();
        tried = send(json::array({there}), false);
        const std::chrono::duration<double> taken = std::chrono::steady_clock::now() - begin;
        quickest_s = std::min(quickest_s, taken.count());
    }
    EXPECT_LT(quickest_s, 0.2);
    RecordProperty("edit_s", std::to_string(quickest_s));
    EXPECT_NE(tried["canals"], before["canals"]);
    EXPECT_EQ(tooth(), before);

    const json kept = send(json::array({move}), true);
    EXPECT_EQ(kept["canals"], tried["canals"]);
    EXPECT_EQ(kept["edits"], json::array({move}));
    EXPECT_EQ(tooth()["canals"], kept["canals"]);
    EXPECT_EQ(tooth()["surface"], before["surface"]);
    EXPECT_EQ(tooth()["invented"], true);
    const json measures = json_of(200, "GET", case_ + "/measures");
    EXPECT_EQ(measures["canals"][0]["depth_to_foramen_mm"],
              kept["canals"][0]["depth_to_foramen_mm"]);

    start();  // the bench is empty now; the list is not
    const json list = json_of(200, "GET", case_ + "/edits");
    EXPECT_EQ(list["open"], false);
    EXPECT_EQ(list["edits"], json::array({move}));
    const json undone =
        json_of(200, "POST", case_ + "/edits",
                json{{"edits", json::array()}, {"undone", json::array({move})}}.dump());
    EXPECT_EQ(undone["canals"], before["canals"]);
    EXPECT_EQ(tooth(), before);
    EXPECT_EQ(json_of(200, "GET", case_ + "/edits")["undone"], json::array({move}));
}

TEST_F(EditsTest, TheReferencePointShiftsEveryDepth) {
    const json before = tooth();
    const json orifice = before["canals"][0]["orifice_mm"];
    const json kept = send(json::array({{{"kind", "move-reference"}, {"to_mm", orifice}}}), true);
    // Counted from the orifice itself, a canal begins at depth 0.
    EXPECT_NEAR(kept["canals"][0]["samples"]["depth_mm"][0].get<double>(), 0, 1e-9);
    EXPECT_EQ(kept["reference_mm"], orifice);
}

TEST_F(EditsTest, AnOutlineDrawnByHandGivesTheSectionItsAreaAndItsMiddle) {
    const json canal = tooth()["canals"][0];
    const auto& samples = canal["samples"];
    const std::size_t at = samples["point_mm"].size() / 2;
    const auto number = [](const json& p, int axis) { return p[std::size_t(axis)].get<double>(); };
    const json middle = samples["point_mm"][at];
    // A closed ring of 0.6 mm across in the axial plane, within 0.2 mm of the canal's middle.
    json ring = json::array();
    for (int n = 0; n < 48; ++n) {
        const double angle = 2 * 3.14159265358979 * n / 48;
        ring.push_back({number(middle, 0) + 0.1 + 0.3 * std::cos(angle),
                        number(middle, 1) + 0.3 * std::sin(angle), number(middle, 2)});
    }
    const json outline{{"kind", "outline"}, {"canal", canal["name"]}, {"outline_mm", ring}};
    const json kept = send(json::array({outline}), true);
    EXPECT_EQ(kept["edits"], json::array({outline}));
    double nearest_mm = 1e9, diameter_mm = 0;
    const auto& drawn = kept["canals"][0]["samples"];
    for (std::size_t n = 0; n < drawn["point_mm"].size(); ++n) {
        const json& p = drawn["point_mm"][n];
        const double away_mm =
            std::hypot(number(p, 0) - number(middle, 0) - 0.1, number(p, 1) - number(middle, 1),
                       number(p, 2) - number(middle, 2));
        if (away_mm >= nearest_mm) continue;
        nearest_mm = away_mm;
        diameter_mm = drawn["diameter_mm"][n].get<double>();
    }
    // Half the distance of samples, 0.125 mm; this root stands upright within some degrees, so that
    // the ring foreshortens by less than 5 %.
    EXPECT_LT(nearest_mm, 0.13);
    EXPECT_NEAR(diameter_mm, 0.6, 0.03);
    EXPECT_EQ(kept["canals"][0]["by_hand"], true);
}

TEST_F(EditsTest, TwoWhoCorrectAtOnceDoNotOverwriteEachOtherAndWhatWasKeptIsInTheRecord) {
    const auto move_to = [](double z) {
        return json::array({{{"kind", "move-reference"}, {"to_mm", {0.0, 0.0, z}}}});
    };
    const std::int64_t base = json_of(200, "GET", case_)["tooth_version"];
    const json first{{"edits", move_to(1)}, {"based_on", base}};
    const json second{{"edits", move_to(2)}, {"based_on", base}};
    const json taken = json_of(200, "POST", case_ + "/edits", first.dump());
    EXPECT_GT(taken["tooth_version"], base);
    refuses(409, "POST", case_ + "/edits", second.dump());
    const json kept = json_of(200, "GET", case_ + "/edits");
    EXPECT_EQ(kept["edits"], move_to(1));
    EXPECT_EQ(kept["tooth_version"], taken["tooth_version"]);
    EXPECT_EQ(tooth()["reference_mm"], json({0.0, 0.0, 1.0}));

    // What was kept is in the record, together with how the tooth was traced.
    std::vector<std::int64_t> versions;
    const json files = json_of(200, "GET", case_ + "/files");
    for (const json& file : files["files"]) {
        if (file["kind"] == "corrections") versions.push_back(file["version"]);
    }
    std::ranges::sort(versions);
    EXPECT_EQ(versions, (std::vector<std::int64_t>{1, 2}));
    const json corrections = json_of(200, "GET", case_ + "/files/corrections/2");
    EXPECT_EQ(corrections["edits"], move_to(1));
    EXPECT_TRUE(corrections["request"].contains("inside_mm"));
}

TEST_F(EditsTest, AnEditThatCannotBeMadeIsRefusedAndChangesNothing) {
    const json before = tooth();
    const std::string edits = case_ + "/edits";
    refuses(400, "POST", edits, R"({"edits":[{"kind":"remove-canal","canal":"nobody"}]})");
    refuses(400, "POST", edits, R"({"edits":[{"kind":"melt"}]})");
    refuses(400, "POST", edits, R"({"edits":[7]})");
    refuses(
        400, "POST", edits,
        R"({"edits":[{"kind":"outline","canal":"nobody","outline_mm":[[0,0,0],[1,0,0],[0,1,0]]}]})");
    refuses(400, "POST", edits,
            R"({"edits":[{"kind":"outline","canal":"P","outline_mm":[[0,0,0]]}]})");
    refuses(400, "POST", edits, R"({"edits":[],"based_on":"now"})");
    refuses(400, "POST", edits, R"({"edits":{}})");
    refuses(400, "POST", edits, R"({"edits":[],"keep":"no"})");
    refuses(400, "POST", edits, R"({"edits":[{"kind":"move-reference","to_mm":[1,2]}]})");
    EXPECT_EQ(tooth(), before);
    EXPECT_TRUE(json_of(200, "GET", edits)["edits"].empty());
}

TEST_F(EditsTest, ADeletedCaseIsNotCorrectedAnyMore) {
    finish(json_of(202, "POST", case_ + "/edits/open", "{}"));
    EXPECT_EQ(ask("DELETE", case_).status, 204);
    refuses(404, "GET", case_ + "/edits");
    refuses(404, "POST", case_ + "/edits/open", "{}");
    refuses(404, "POST", case_ + "/edits", R"({"edits":[]})");
}

class ImportedTest : public WorkspaceTest {};

TEST_F(WorkspaceTest, EachCorrectionBearsTheNameOfWhoMadeItAlsoWhenTakenBackAndMadeAgain) {
    std::filesystem::create_directories(root_ / "bench");
    const auto opened = record::Record::open(record::RecordPlace::below(root_ / "bench"));
    ASSERT_TRUE(opened) << opened.error().sentence();
    const auto& record = *opened;
    const std::string id =
        record->cases().add({"", "", "", "36", "x", true}, {"tooth", "{}"}, "")->id;
    const CorrectionBench bench(*record);
    ASSERT_TRUE(bench.remember(id, {}, "ada"));
    const Edit first = MoveReference{Vec3(0, 0, 1)}, second = RemoveCanal{"MB"};
    ASSERT_TRUE(bench.keep(id, {{first}, {}}, "ada"));
    const json by_ada = bench.makers(id)["made"][0];
    EXPECT_EQ(by_ada["author"], "ada");
    EXPECT_TRUE(record::parse_instant(by_ada["at"].get<std::string>()));
    ASSERT_TRUE(bench.keep(id, {{first, second}, {}}, "ben"));
    EXPECT_EQ(bench.makers(id)["made"][0], by_ada);
    EXPECT_EQ(bench.makers(id)["made"][1]["author"], "ben");
    ASSERT_TRUE(bench.keep(id, {{second}, {first}}, "ben"));
    EXPECT_EQ(bench.makers(id)["undone_made"], json::array({by_ada}));
    ASSERT_TRUE(bench.keep(id, {{second, first}, {}}, "ben"));
    EXPECT_EQ(bench.makers(id)["made"][1], by_ada);
}

TEST_F(ImportedTest, AToothThatWasNotTracedHereCannotBeCorrected) {
    const std::string imported = "/api/cases/" + json_of(201, "POST", "/api/cases",
                                                         json{{"tooth", hand_made_tooth()}}.dump())
                                                     .value("id", "");
    EXPECT_EQ(json_of(200, "GET", imported + "/edits")["possible"], false);
    refuses(404, "POST", imported + "/edits/open", "{}");
    refuses(404, "POST", imported + "/edits", R"({"edits":[]})");
}

TEST(EditList, ComesBackAsItWasWritten) {
    const json written = json::parse(R"({"edits":[
        {"kind":"move-point","canal":"MB","from_mm":[0.0,0.0,8.0],"to_mm":[0.1,0.0,8.0]},
        {"kind":"section","canal":"MB","centre_mm":[0.0,0.0,9.0],"diameter_short_mm":0.3,"diameter_long_mm":0.5,"long_axis_deg":20.0},
        {"kind":"outline","canal":"MB","outline_mm":[[0.0,0.0,9.0],[0.4,0.0,9.0],[0.0,0.3,9.0]]},
        {"kind":"remove-canal","canal":"D"}],
        "undone":[{"kind":"add-canal","orifice_mm":[1.0,0.0,8.0],"end_mm":[1.0,0.0,18.0]},
                  {"kind":"move-reference","to_mm":[0.0,0.0,1.0]}]})");
    const auto list = edit_list_of(written);
    ASSERT_TRUE(list);
    EXPECT_EQ(to_json(*list), written);
}

}  // namespace
}  // namespace anfract::server
