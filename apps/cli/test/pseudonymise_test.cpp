// "Send this case to a colleague without saying who it is", with the program itself: a case with
// scan, plan, letter, notes and log, all full of names, becomes an archive. What is in it is read
// with the tools of others: unzip, dcmtk, poppler.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>
#include <regex>
#include <set>

#include "anfract/record/record.h"
#include "command_line.h"

namespace anfract::cli {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;
using testing::HasSubstr;
using testing::Not;

/// Name, number, birth date and practice of nobody, as they would be written somewhere.
const std::vector<std::string> needles{"mustermann", "petra",      "erfunden",   "4711-0815",
                                       "19800229",   "1980-02-29", "29.02.1980", "zahnhausen"};
const std::string name = "Petra Mustermann, Praxis Dr. Erfunden, Zahnhausen, 4711-0815";

class PseudonymiseTest : public testing::Test {
  protected:
    static void SetUpTestSuite() {
        scratch_ = new Scratch;
        make_scan();
        make_plan();
        make_case();
        outcome_ = run("$ANFRACT case pseudonymise " + id_ + " $D/out.zip --data $D/data");
        ASSERT_EQ(outcome_.code, 0) << outcome_.err;
        ASSERT_EQ(run("mkdir $D/open && cd $D/open && unzip -q ../out.zip && mkdir slices && "
                      "cd slices && unzip -q ../files/scan")
                      .code,
                  0);
    }
    static void TearDownTestSuite() { delete scratch_; }
    static Outcome run(const std::string& command) { return shell(*scratch_, command); }
    static fs::path path(const std::string& name_of_file) {
        return scratch_->path() / name_of_file;
    }

    static void make_scan() {
        ASSERT_EQ(run("$ANFRACT phantom lower-premolar --out $D/case --seed 3 --voxel 0.5 && "
                      "mkdir -p \"$D/Petra Mustermann\" && "
                      "for f in $D/case/scan/*; do cp $f \"$D/Petra Mustermann/petra-$(basename "
                      "$f)\"; done")
                      .code,
                  0);
        const Outcome modified =
            run("dcmodify -nb -i '(0010,0010)=Mustermann^Petra' -i '(0010,0020)=4711-0815' "
                "-i '(0010,0030)=19800229' -i '(0010,1000)=4711-0815' -i '(0010,4000)=Petra "
                "Mustermann' "
                "-i '(0008,0080)=Praxis Dr. Erfunden' -i '(0008,0081)=Zahnhausen' "
                "-i '(0008,0090)=Erfunden^Doktor' -i '(0008,1070)=Erfunden^Doktor' "
                "-i '(0008,1010)=ZAHNHAUSEN1' -i '(0008,1030)=Petra Mustermann' -i "
                "'(0018,1000)=4711-0815' "
                "-i '(0040,0275)[0].(0040,0007)=Petra Mustermann' "
                "-i '(0009,0010)=ERFUNDEN' -i '(0009,1001)=50\\65\\74\\72\\61\\20\\4d\\75\\73\\74' "
                "\"$D/Petra Mustermann/\"*");
        ASSERT_EQ(modified.code, 0) << modified.err;
        uid_ =
            json::parse(run("$ANFRACT survey \"$D/Petra Mustermann\"").out).value("series_uid", "");
        ASSERT_FALSE(uid_.empty());
    }

    static void make_plan() {
        json samples{{"depth_mm", json::array()},
                     {"point_mm", json::array()},
                     {"diameter_mm", json::array()}};
        for (int i = 0; i <= 48; ++i) {
            samples["depth_mm"].push_back(8 + 0.25 * i);
            samples["point_mm"].push_back({0, 0, 8 + 0.25 * i});
            samples["diameter_mm"].push_back(0.4);
        }
        std::ofstream(path("tooth.json"))
            << json{{"format", "anfract.tooth"},
                    {"version", 1},
                    {"frame", "LPS-mm"},
                    {"tooth", {{"fdi", "34"}, {"of", name}}},
                    {"reference_mm", {0, 0, 0}},
                    {"scan", {{"series_uid", uid_}, {"voxel_mm", {0.5, 0.5, 0.5}}}},
                    {"findings", {name}},
                    {"remark", name},
                    {"canals",
                     {{{"name", "PETRA"},
                       {"orifice_mm", {0, 0, 8}},
                       {"foramen_mm", {0, 0, 20}},
                       {"length_mm", 12},
                       {"depth_to_foramen_mm", 20},
                       {"samples", samples}}}}};
        std::ofstream(path("tray.json")) << json{{"format", "anfract.tray"},
                                                 {"version", 1},
                                                 {"sources", {name}},
                                                 {"devices",
                                                  {{{"id", "mustermann-file"},
                                                    {"name", "file of " + name},
                                                    {"kind", "hand-file"},
                                                    {"material", "stainless-steel"},
                                                    {"section", "square"},
                                                    {"tip_mm", 0.1},
                                                    {"taper", 0.02},
                                                    {"working_part_mm", 16},
                                                    {"length_mm", 25}}}}};
        std::ofstream(path("letter.json"))
            << json{{"format", "anfract.letter"},    {"version", 1},    {"practice", {name}},
                    {"recipient", {"Dr. Erfunden"}}, {"patient", name}, {"author", "Dr. Erfunden"}};
        const Outcome planned =
            run("$ANFRACT plan $D/tooth.json --tray $D/tray.json --samples 20 "
                "--measured PETRA=19 --out $D/plan.json && "
                "$ANFRACT report $D/plan.json --letter $D/letter.json --out $D/letter.pdf");
        ASSERT_EQ(planned.code, 0) << planned.err;
        ASSERT_THAT(run("pdftotext $D/letter.pdf -").out, HasSubstr("Petra Mustermann"));
    }

    static json entry(const char* number, json more) {
        more["entry_id"] = std::string("3f2504e0-4f89-41d3-9a0c-0305e82c330") + number;
        more["at"] = std::string("2026-01-31T12:0") + number + ":00Z";
        more["text"] = name;
        return more;
    }

    static void make_case() {
        fs::create_directories(path("data"));
        const auto record = record::Record::open(record::RecordPlace::below(path("data")));
        ASSERT_TRUE(record);
        const std::string scan = "0123456789abcdef";
        const json where{
            {"path", path("Petra Mustermann").string()}, {"series_uid", uid_}, {"label", name}};
        ASSERT_TRUE((*record)->scans().add({scan, "", where.dump(), "", ""}));
        const auto& cases = (*record)->cases();
        id_ = cases
                  .add({"", "", scan, "34", name, true},
                       {"tooth", slurp(path("tooth.json")), "petra.json"}, "erfunden")
                  ->id;
        ASSERT_TRUE(cases.add_file(id_, {"plan", slurp(path("plan.json")), "p.json"}, "erfunden"));
        ASSERT_TRUE(cases.add_file(
            id_, {"paper", slurp(path("letter.pdf")), "petra.pdf", "application/pdf"}, "erfunden"));
        const json notes{
            {"patient", {{"name", name}, {"reference", "4711-0815"}, {"born", "1980-02-29"}}},
            {"referral", {{"from", name}, {"question", name}, {"received", "2026-01-02"}}},
            {"diagnosis", {{"pulpal", "pulp-necrosis"}, {"text", name}}},
            {"materials", {{{"what", name}, {"use", "sealer"}, {"lot", name}}}},
            {"fillings", {{{"canal", "PETRA"}, {"from_apex_mm", 0.5}}}},
            {"completed", "2026-01-31"},
            {"prognosis", name}};
        ASSERT_TRUE((*record)->notes().save(id_, 0, notes, "erfunden"));
        const auto logged = (*record)->log().append(
            id_,
            {{"entries",
              {entry("1", {{"kind", "depth-measured"}, {"canal", "PETRA"}, {"depth_mm", 19}}),
               entry("2",
                     {{"kind", "step-done"}, {"canal", "PETRA"}, {"device", "mustermann-file"}}),
               entry("3", {{"kind", "device-broken"}, {"device", "erfunden-cone"}, {"step", name}}),
               entry("4", {{"kind", "note"}})}}},
            "erfunden");
        ASSERT_TRUE(logged) << logged.error().sentence();
    }

    static std::vector<fs::path> files(const std::string& ending) {
        std::vector<fs::path> all;
        for (const auto& one : fs::recursive_directory_iterator(path("open"))) {
            if (one.path().extension() == ending) all.push_back(one.path());
        }
        return all;
    }
    static void holds_none(std::string text, const std::string& where) {
        for (char& c : text) c = char(std::tolower(static_cast<unsigned char>(c)));
        for (const std::string& needle : needles)
            EXPECT_EQ(text.find(needle), std::string::npos) << needle << " in " << where;
    }

    static Scratch* scratch_;
    static std::string uid_, id_;
    static Outcome outcome_;
};
Scratch* PseudonymiseTest::scratch_ = nullptr;
std::string PseudonymiseTest::uid_, PseudonymiseTest::id_;
Outcome PseudonymiseTest::outcome_;

TEST_F(PseudonymiseTest, NothingInTheArchiveTellsWhoItIs) {
    int count = 0;
    for (const auto& one : fs::recursive_directory_iterator(path("open"))) {
        holds_none(one.path().lexically_relative(path("open")).string(), "a file's name");
        if (!one.is_regular_file()) continue;
        const std::string bytes = slurp(one.path());
        holds_none(bytes, one.path().string());
        EXPECT_EQ(bytes.find(uid_), std::string::npos) << one.path();
        EXPECT_EQ(bytes.find(id_), std::string::npos) << one.path();
        ++count;
    }
    EXPECT_GT(count, 20);
    // What is packed inside: text and properties of the papers, DICOM's, the plan in the bundle.
    ASSERT_EQ(run("dcm2pdf $D/open/beside/open/dicom/letter.dcm $D/open/from-dicom.pdf").code, 0);
    for (const fs::path& pdf : files(".pdf")) {
        holds_none(run("pdftotext " + pdf.string() + " -").out, pdf.string());
        holds_none(run("pdfinfo " + pdf.string()).out, pdf.string());
        EXPECT_THAT(run("pdftotext " + pdf.string() + " -").out, HasSubstr("tooth 34"));
    }
    EXPECT_EQ(files(".pdf").size(), 2u);
    for (const fs::path& dicom : files(".dcm"))
        holds_none(run("dcmdump +L " + dicom.string()).out, dicom.string());
    ASSERT_EQ(run("$ANFRACT fhir $D/open/beside/open/fhir.json --out $D/back.json").code, 0);
    holds_none(slurp(path("back.json")), "the plan of the bundle");
    holds_none(outcome_.err, "what was said");
    EXPECT_THAT(outcome_.err, HasSubstr("every paper"));
    EXPECT_THAT(outcome_.err, HasSubstr("Left out"));
    for (const auto& one : fs::directory_iterator(scratch_->path()))
        EXPECT_THAT(one.path().string(), Not(HasSubstr(".making-")));
}

TEST_F(PseudonymiseTest, WhatIsOfUseStaysAndCanBeTakenIntoAnotherRecord) {
    const Outcome in = run("$ANFRACT archive import --data $D/new $D/out.zip");
    ASSERT_EQ(in.code, 0) << in.err;
    EXPECT_EQ(run("$ANFRACT store check --data $D/new").code, 0);
    const std::string line = run("$ANFRACT case list --data $D/new").out;
    EXPECT_THAT(line, HasSubstr(outcome_.out.substr(0, 18)));  // P- and sixteen digits
    const std::string id = line.substr(0, 16);
    const json log = json::parse(run("$ANFRACT case log --data $D/new " + id).out).at("entries");
    ASSERT_EQ(log.size(), 4u);
    EXPECT_EQ(log[0]["canal"], "C1");
    EXPECT_EQ(log[0]["depth_mm"], 19);
    EXPECT_EQ(log[1]["device"], "device-1");
    EXPECT_NE(log[2]["device"], "device-1");
    const json notes = json::parse(run("$ANFRACT case show --data $D/new " + id).out);
    EXPECT_EQ(notes["diagnosis"]["pulpal"], "pulp-necrosis");
    EXPECT_EQ(notes["fillings"][0]["canal"], "C1");
    // Noon of the last day of January and the day of completion are still the same day.
    EXPECT_EQ(notes["completed"], log[0]["at"].get<std::string>().substr(0, 10));
    EXPECT_NE(notes["completed"], "2026-01-31");
    ASSERT_EQ(run("$ANFRACT case get-file --data $D/new " + id + " plan $D/p.json").code, 0);
    const json plan = json::parse(slurp(path("p.json")));
    EXPECT_EQ(plan["canals"][0]["canal"], "C1");
    EXPECT_EQ(plan["canals"][0]["working_depth_mm"], 19);
    // The copy goes on again, with its scan.
    EXPECT_EQ(run("$ANFRACT case pseudonymise " + id + " $D/on.zip --data $D/new").code, 0);
    const json survey = json::parse(run("$ANFRACT survey $D/open/slices").out);
    EXPECT_EQ(plan["tooth"]["scan"]["series_uid"], survey["series_uid"]);
}

/// What PS3.15 Table E.1-1, basic profile, does with an attribute (edition 2023, from memory): X is
/// taken out, Z emptied or given a dummy, U given another UID.
const std::map<std::string, char>& profile() {
    static const std::map<std::string, char> actions = [] {
        std::map<std::string, char> all;
        for (const char* tag :
             {"0008,0014", "0008,0015", "0008,0024", "0008,0025", "0008,0034", "0008,0035",
              "0008,0080", "0008,0081", "0008,0082", "0008,0092", "0008,0094", "0008,0096",
              "0008,0201", "0008,1010", "0008,1030", "0008,103e", "0008,1040", "0008,1048",
              "0008,1049", "0008,1050", "0008,1052", "0008,1060", "0008,1062", "0008,1070",
              "0008,1072", "0008,1080", "0008,1084", "0008,1110", "0008,1120", "0008,2111",
              "0008,4000", "0010,0021", "0010,0032", "0010,0050", "0010,0101", "0010,1000",
              "0010,1001", "0010,1002", "0010,1005", "0010,1010", "0010,1020", "0010,1030",
              "0010,1040", "0010,1060", "0010,1080", "0010,1090", "0010,2000", "0010,2110",
              "0010,2150", "0010,2152", "0010,2154", "0010,2160", "0010,2180", "0010,21a0",
              "0010,21b0", "0010,21c0", "0010,21d0", "0010,21f0", "0010,4000", "0018,1004",
              "0018,1005", "0018,1007", "0018,1008", "0018,1030", "0018,1400", "0018,4000",
              "0020,3401", "0020,3404", "0020,3406", "0020,4000", "0020,9158", "0032,1030",
              "0032,1032", "0032,1033", "0032,1060", "0032,1070", "0032,4000", "0038,0010",
              "0038,0300", "0038,0400", "0038,0500", "0040,0001", "0040,0002", "0040,0003",
              "0040,0006", "0040,0007", "0040,0010", "0040,0011", "0040,0241", "0040,0242",
              "0040,0243", "0040,0244", "0040,0245", "0040,0250", "0040,0251", "0040,0253",
              "0040,0254", "0040,0275", "0040,0280", "0040,1001", "0040,1002", "0040,1004",
              "0040,1005", "0040,1010", "0040,1400", "0040,2001", "0040,2008", "0040,2009",
              "0040,2010", "0040,2400", "0040,3001", "0040,a07a", "0088,0140", "4000,0010",
              "4000,4000"})
            all[tag] = 'X';
        for (const char* tag : {"0008,0020", "0008,0023", "0008,0030", "0008,0033", "0008,0050",
                                "0008,0090", "0010,0010", "0010,0020", "0010,0030", "0010,0040",
                                "0018,1000", "0020,0010", "0040,2016", "0040,2017", "0070,0084"})
            all[tag] = 'Z';
        for (const char* tag : {"0002,0003", "0008,0018", "0008,1155", "0020,000d", "0020,000e",
                                "0020,0052", "0020,0200", "0020,9161", "0020,9164", "0040,a124",
                                "0062,0021", "0008,0058", "0008,9123", "3006,0024"})
            all[tag] = 'U';
        return all;
    }();
    return actions;
}

TEST_F(PseudonymiseTest, EveryDicomFileFollowsTheProfile) {
    // Dummies: the pseudonym, a moment that never was, a number that is none.
    const std::set<std::string> dummies{
        "", outcome_.out.substr(0, 18), "19000101", "000000", "0", "Invented"};
    const std::string originals = run("dcmdump +L \"$D/Petra Mustermann/\"*0001.dcm").out;
    const std::regex element(R"(\(([0-9a-f]{4},[0-9a-f]{4})\) ([A-Z]{2}|na|pi) (.*?) +# )");
    int seen = 0;
    std::set<std::string> studies;
    for (const fs::path& dicom : files(".dcm")) {
        std::istringstream lines(run("dcmdump +L -Un " + dicom.string()).out);
        for (std::string line; std::getline(lines, line);) {
            if (line.size() > 2000) continue;  // pixels and papers
            std::smatch part;
            if (!std::regex_search(line, part, element)) continue;
            const std::string tag = part[1];
            std::string value = part[3];
            if (value.starts_with("[")) value = value.substr(1, value.rfind(']') - 1);
            if (value == "(no value available)") value.clear();
            // fffe,... are items; other odd groups are private.
            EXPECT_EQ(std::stoi(tag.substr(3, 1), nullptr, 16) % 2, 0) << tag << " " << dicom;
            if (tag == "0020,000d") studies.insert(value);
            const auto action = profile().find(tag);
            if (action == profile().end()) continue;
            ++seen;
            if (action->second == 'X') ADD_FAILURE() << line << "\nin " << dicom;
            if (action->second == 'Z') {
                EXPECT_TRUE(dummies.contains(value)) << line << "\nin " << dicom;
            }
            if (action->second == 'U') {
                EXPECT_EQ(originals.find("[" + value + "]"), std::string::npos) << line;
            }
        }
        const Outcome verdict = run("dciodvfy " + dicom.string());
        EXPECT_THAT(verdict.err, Not(HasSubstr("Error"))) << dicom;
        const std::string dump = run("dcmdump +P 0012,0062 +P 0008,0100 " + dicom.string()).out;
        EXPECT_THAT(dump, HasSubstr("[YES]")) << dicom;
        EXPECT_THAT(dump, HasSubstr("[113100]")) << dicom;  // PS3.16, CID 7050
    }
    EXPECT_GT(seen, 100);
    EXPECT_EQ(studies.size(), 1u) << "scan and objects lie in one study";
}

TEST_F(PseudonymiseTest, RefusesWhatCannotBeInOneSentenceAndLeavesNothing) {
    for (const std::string& arguments :
         {std::string("0123456789abcdef $D/none.zip"), id_ + " $D/nowhere/none.zip"}) {
        const Outcome refused = run("$ANFRACT case pseudonymise " + arguments + " --data $D/data");
        EXPECT_EQ(refused.code, 1);
        EXPECT_EQ(std::count(refused.err.begin(), refused.err.end(), '\n'), 1) << refused.err;
    }
    ASSERT_EQ(run("mv \"$D/Petra Mustermann\" $D/away").code, 0);
    const Outcome gone = run("$ANFRACT case pseudonymise " + id_ + " $D/none.zip --data $D/data");
    EXPECT_EQ(gone.code, 1) << gone.err;
    EXPECT_FALSE(fs::exists(path("none.zip")));
    ASSERT_EQ(run("mv $D/away \"$D/Petra Mustermann\"").code, 0);
}

}  // namespace
}  // namespace anfract::cli
