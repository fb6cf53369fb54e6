// A plan in the forms of other programs, and as papers, by the program itself.

#include <gmock/gmock.h>

#include "exchange_fixture.h"

namespace anfract::cli {
namespace {

using testing::HasSubstr;

/// A tooth of one straight canal, made by hand, and its plan.
class PlanForms : public Exchange {
  protected:
    static void SetUpTestSuite() {
        scratch_ = new Scratch;
        nlohmann::json samples{{"depth_mm", nlohmann::json::array()},
                               {"point_mm", nlohmann::json::array()},
                               {"diameter_mm", nlohmann::json::array()}};
        for (int i = 0; i <= 48; ++i) {
            samples["depth_mm"].push_back(8 + 0.25 * i);
            samples["point_mm"].push_back({0, 0, 8 + 0.25 * i});
            samples["diameter_mm"].push_back(0.4);
        }
        std::ofstream(path("tooth.json")) << nlohmann::json{{"format", "anfract.tooth"},
                                                            {"version", 1},
                                                            {"frame", "LPS-mm"},
                                                            {"invented", true},
                                                            {"tooth", {{"fdi", "36"}}},
                                                            {"reference_mm", {0, 0, 0}},
                                                            {"canals",
                                                             {{{"name", "D"},
                                                               {"orifice_mm", {0, 0, 8}},
                                                               {"foramen_mm", {0, 0, 20}},
                                                               {"length_mm", 12},
                                                               {"depth_to_foramen_mm", 20},
                                                               {"samples", samples}}}}};
        const Outcome planned = run("$ANFRACT plan $D/tooth.json --out $D/plan.json");
        ASSERT_EQ(planned.code, 0) << planned.err;
    }
};

TEST_F(PlanForms, DicomObjectsAreWhatTheStandardDefines) {
    const Outcome made =
        run("$ANFRACT report $D/plan.json --out $D/letter.pdf && "
            "$ANFRACT dicom $D/plan.json --letter $D/letter.pdf --study 1.2.3 --frame 1.2.4 --out "
            "$D/objects");
    ASSERT_EQ(made.code, 0) << made.err;
    for (const char* name :
         {"measurements", "canals", "ruler", "section-buccal", "section-mesial", "letter"}) {
        const Outcome verdict = run("dciodvfy $D/objects/" + std::string(name) + ".dcm");
        EXPECT_THAT(verdict.err, testing::Not(HasSubstr("Error"))) << name;
        EXPECT_THAT(run("dcmdump +P StudyInstanceUID $D/objects/" + std::string(name) + ".dcm").out,
                    HasSubstr("[1.2.3]"));
    }
    EXPECT_EQ(run("$ANFRACT dicom $D/plan.json --frame x --out $D/objects").code, 1);
}

TEST_F(PlanForms, ALeafletIsWrittenAsPdfAndHtmlInTwoLanguages) {
    std::ofstream(path("letter.json"))
        << R"({"format": "anfract.letter", "version": 1, "practice": ["Invented practice"], "call": "0123", "logo": "logo.png"})";
    EXPECT_EQ(
        run("$ANFRACT leaflet $D/plan.json --letter $D/letter.json --out $D/leaflet.pdf").code, 1);
    std::ofstream(path("logo.png")) << "no picture";
    EXPECT_THAT(
        run("$ANFRACT leaflet $D/plan.json --letter $D/letter.json --out $D/leaflet.pdf").err,
        HasSubstr("is not a PNG picture"));
    ASSERT_EQ(run("$ANFRACT report $D/plan.json --out $D/l.pdf && "
                  "pdftoppm -png -singlefile -r 20 $D/l.pdf $D/logo")
                  .code,
              0);
    EXPECT_THAT(run("cp $D/logo.png $D/whole.png; head -c 600 $D/whole.png > $D/logo.png; "
                    "$ANFRACT leaflet $D/plan.json --letter $D/letter.json --out $D/leaflet.pdf")
                    .err,
                HasSubstr("or damaged"));
    ASSERT_EQ(run("mv $D/whole.png $D/logo.png; $ANFRACT leaflet $D/plan.json --letter "
                  "$D/letter.json --out $D/leaflet.pdf")
                  .code,
              0);
    const std::string text = run("pdftotext $D/leaflet.pdf -").out;
    for (const char* words :
         {"tooth 36 (Universal 19)", "Invented practice", "0123", "Invented data"})
        EXPECT_THAT(text, HasSubstr(words));
    EXPECT_THAT(run("pdfimages -list $D/leaflet.pdf").out, HasSubstr("image"));
    ASSERT_EQ(run("$ANFRACT leaflet $D/plan.json --language de --out $D/leaflet.html").code, 0);
    EXPECT_THAT(slurp(path("leaflet.html")), HasSubstr("<html lang=\"de\">"));
    EXPECT_THAT(run("$ANFRACT leaflet $D/plan.json --language xx --out $D/a.pdf").err,
                HasSubstr("give en or de"));
    EXPECT_THAT(run("$ANFRACT leaflet $D/plan.json --out $D/a.doc").err,
                HasSubstr(".pdf nor .html"));
}

TEST_F(PlanForms, ADischargeLetterSaysWhatTheRecordTells) {
    fs::create_directories(path("data"));
    std::string id;
    {
        const auto record = record::Record::open(record::RecordPlace::below(path("data")));
        ASSERT_TRUE(record);
        id = (*record)
                 ->cases()
                 .add({"", "", "", "36", "practice", true},
                      {"tooth", R"({"canals": [{"name": "MB2"}]})", "t.json"}, "")
                 ->id;
        const auto entry = [](const char* number, nlohmann::json more) {
            more["entry_id"] = std::string("00000000-0000-4000-8000-00000000000") + number;
            more["at"] = std::string("2026-01-31T12:0") + number + ":00Z";
            return more;
        };
        ASSERT_TRUE((*record)->log().append(
            id,
            {{"entries",
              {entry("1", {{"kind", "depth-measured"}, {"canal", "D"}, {"depth_mm", 19.4}}),
               entry("2", {{"kind", "step-done"}, {"canal", "D"}, {"device", "first-file"}}),
               entry("3", {{"kind", "step-done"}, {"canal", "D"}, {"device", "hand-015-25"}}),
               entry("4",
                     {{"kind", "device-broken"}, {"canal", "ML"}, {"device", "broken-file"}})}}},
            ""));
        ASSERT_TRUE((*record)->notes().save(
            id, 0,
            {{"patient", {{"name", "Inventa Mustermann"}, {"born", "1970-01-31"}}},
             {"referral", {{"from", "Dr. Referrer"}, {"address", "1 Lane"}}},
             {"events", {{{"kind", "deviation"}, {"text", "left short"}, {"action", "told"}}}},
             {"diagnosis", {{"pulpal", "pulp-necrosis"}, {"apical", "chronic-apical-abscess"}}},
             {"completed", "2026-01-31"},
             {"fillings", {{{"canal", "D"}, {"from_apex_mm", 0.5}}}},
             {"materials", {{{"what", "Invented sealer"}, {"use", "sealer"}, {"lot", "L-77"}}}},
             {"prognosis", "good <b>indeed</b>"}},
            ""));
    }
    const Outcome made = run("$ANFRACT discharge " + id + " --data $D/data --out $D/discharge.pdf");
    ASSERT_EQ(made.code, 0) << made.err;
    const std::string text = run("pdftotext -layout $D/discharge.pdf -").out;
    // K04.1 necrosis and K04.6 abscess with sinus: ICD-10-CM, from memory. First recall after a
    // year: quality guidelines of the ESE, 2006.
    for (const char* words : {"pulp necrosis", "chronic apical abscess", "K04.1", "K04.6", "19.4",
                              "Hand file 015/.02, 25 mm", "0.5 short of it", "L-77", "broken-file",
                              "2027-01-31", "Patient: Inventa Mustermann, born 1970-01-31",
                              "Dr. Referrer", "1 Lane", "left short. told.", "MB2",
                              "good <b>indeed</b>", "tooth 36 (Universal 19)", "clinician decides"})
        EXPECT_THAT(text, HasSubstr(words));
    EXPECT_THAT(text, testing::Not(HasSubstr("first-file")));
    ASSERT_EQ(run("$ANFRACT discharge " + id + " --data $D/data --out $D/discharge.html").code, 0);
    EXPECT_THAT(slurp(path("discharge.html")), HasSubstr("good &lt;b&gt;indeed"));
    // In German, for somebody, and kept with the case each time.
    std::ofstream(path("letter.json"))
        << R"({"format": "anfract.letter", "version": 1, "recipient": ["Dr. Invented"], "author": "A"})";
    ASSERT_EQ(run("$ANFRACT discharge " + id +
                  " --data $D/data --language de --letter $D/letter.json --out $D/de.pdf")
                  .code,
              0);
    const std::string german = run("pdftotext -layout $D/de.pdf -").out;
    EXPECT_THAT(german, HasSubstr("Dr. Invented"));  // whom the letter file names goes first
    EXPECT_THAT(german, testing::Not(HasSubstr("Dr. Referrer")));
    for (const char* words :
         {"geb. 1970-01-31", "Pulpanekrose", "chronischer apikaler Abszess", "19,4", "0,5 davor",
          "Instrument gebrochen", "2027-01-31", "Mit freundlichen Grüßen", "Behandlung von Zahn 36",
          "Sehr geehrte Kollegin", "good <b>indeed"})
        EXPECT_THAT(german, HasSubstr(words));
    for (const char* words : {"necrosis", "not recorded", "Dear", "short of"})
        EXPECT_THAT(german, testing::Not(HasSubstr(words)));
    const std::string letters = run("$ANFRACT case letters " + id + " --data $D/data").out;
    EXPECT_THAT(letters, HasSubstr("discharge   3  to Dr. Invented"));
    ASSERT_EQ(run("$ANFRACT case get-file " + id + " discharge $D/again.pdf --data $D/data").code,
              0);
    EXPECT_TRUE(slurp(path("again.pdf")) == slurp(path("de.pdf")));
    std::ofstream(path("own.html")) << "<h1>{{tooth}}</h1><p>{{prognosis}}</p>";
    ASSERT_EQ(
        run("$ANFRACT discharge " + id + " --data $D/data --template $D/own.html --out $D/own.pdf")
            .code,
        0);
    std::ofstream(path("own.html")) << "<h1>{{#tooth}}</h1>";
    EXPECT_EQ(
        run("$ANFRACT discharge " + id + " --data $D/data --template $D/own.html --out $D/own.pdf")
            .code,
        1);
    EXPECT_EQ(run("$ANFRACT discharge 0123456789abcdef --data $D/data --out $D/none.pdf").code, 1);
    // A plan's letter and leaflet are kept when the case is named; with a wrong one nothing is
    // written.
    const std::string keep = " --letter $D/letter.json --data $D/data --case ";
    ASSERT_EQ(run("$ANFRACT report $D/plan.json --out $D/kept.pdf" + keep + id).code, 0);
    ASSERT_EQ(run("$ANFRACT leaflet $D/plan.json --out $D/kept.html" + keep + id).code, 0);
    EXPECT_EQ(run("$ANFRACT report $D/plan.json --out $D/no.pdf" + keep + "0123456789abcdef").code,
              1);
    EXPECT_FALSE(fs::exists(path("no.pdf")));
    const std::string all = run("$ANFRACT case letters " + id + " --data $D/data").out;
    EXPECT_THAT(all, HasSubstr("letter      1  to Dr. Invented"));
    EXPECT_THAT(all, HasSubstr("leaflet     1  to Inventa Mustermann, born 1970-01-31"));
}

}  // namespace
}  // namespace anfract::cli
