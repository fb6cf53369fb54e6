#include "anfract/report/letter.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <sstream>

#include "poppler.h"
#include "test_plans.h"

namespace anfract {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;
using testing::PdfFile;

std::string written(const Plan& plan, const Letter& letter = invented_letter(),
                    const Brick* scan = nullptr) {
    const auto pdf = letter_pdf(plan, letter, scan);
    EXPECT_TRUE(pdf) << pdf.error().sentence();
    return pdf.value_or("");
}

const PdfFile& letter() {
    static const PdfFile pdf(written(testing::plan()));
    return pdf;
}

TEST(LetterPdf, SaysEveryCanalWithItsDepth) {
    const std::string text = letter().run("pdftotext -layout", "-");
    for (const CanalPlan& canal : testing::plan().canals) {
        EXPECT_THAT(text, HasSubstr("Canal " + canal.canal));
        char depth[16];
        std::snprintf(depth, sizeof depth, "%.1f", canal.depth_to_foramen_mm);
        EXPECT_THAT(text, HasSubstr(depth));
    }
    EXPECT_THAT(text, HasSubstr("lower left second molar"));
}

// 0.125 mm is not 0.12 mm, along no axis.
TEST(LetterHtml, StatesTheVoxelsToTheMicrometre) {
    Plan plan = testing::plan();
    plan.tooth.scan->voxel_mm = Vec3(0.125, 0.126, 0.25);
    const auto html = letter_html(plan, invented_letter(), nullptr);
    ASSERT_TRUE(html) << html.error().sentence();
    EXPECT_THAT(*html, HasSubstr("0.125 × 0.126 × 0.250 mm"));
}

TEST(LetterPdf, CarriesTheCautionsAndTheMarkOnEveryPage) {
    const std::string info = letter().run("pdfinfo");
    const int pages = std::stoi(info.substr(info.find("Pages:") + 6));
    EXPECT_GE(pages, 2);
    EXPECT_LE(pages, 5);
    for (int page = 1; page <= pages; ++page) {
        const std::string number = std::to_string(page);
        const std::string text = letter().run("pdftotext -f " + number + " -l " + number, "-");
        EXPECT_THAT(text, HasSubstr("not a cleared medical device"));
        EXPECT_THAT(text, HasSubstr("apex"));
        EXPECT_THAT(text, HasSubstr("licensed clinician decides"));
        EXPECT_THAT(text, HasSubstr("Invented data"));
        EXPECT_THAT(text, HasSubstr("Page " + number + " of " + std::to_string(pages)));
    }
}

TEST(LetterPdf, OnlyInventedDataAreMarkedSo) {
    Plan plan = testing::plan();
    plan.invented = false;
    const PdfFile pdf(written(plan, Letter{}));
    EXPECT_THAT(pdf.run("pdftotext", "-"), Not(HasSubstr("nvented")));
}

TEST(LetterPdf, IsTaggedAndTitledOnA4) {
    const std::string info = letter().run("pdfinfo");
    EXPECT_THAT(info, ::testing::ContainsRegex("Tagged: +yes"));
    EXPECT_THAT(info, HasSubstr("Working plan for tooth 37"));
    EXPECT_THAT(info, HasSubstr("A4"));
    const std::string structure = letter().run("pdfinfo -struct");
    for (const char* element : {"H1", "H2", "Table", "TR", "TH", "TD", "Figure", "Caption"}) {
        EXPECT_THAT(structure, HasSubstr(element));
    }
}

TEST(LetterPdf, EveryFontIsEmbeddedAndReadable) {
    std::istringstream lines(letter().run("pdffonts"));
    std::string line;
    std::getline(lines, line);
    const auto embedded = line.find("emb"), unicode = line.find("uni");
    std::getline(lines, line);
    int fonts = 0;
    while (std::getline(lines, line)) {
        EXPECT_EQ(line.substr(embedded, 3), "yes") << line;
        EXPECT_EQ(line.substr(unicode, 3), "yes") << line;
        ++fonts;
    }
    EXPECT_GE(fonts, 2);
}

TEST(LetterPdf, KeepsNamesInAnyScript) {
    Letter letter = invented_letter();
    const std::string names[] = {"Ελένη Παπαδοπούλου", "Зоя Ёлкина", "山田花子", "Nguyễn Thị Ngọc"};
    letter.recipient = {names[0], names[1]};
    letter.patient = names[2];
    letter.author = names[3];
    const PdfFile pdf(written(testing::plan(), letter));
    const std::string text = pdf.run("pdftotext", "-");
    for (const std::string& name : names) EXPECT_THAT(text, HasSubstr(name));
    EXPECT_THAT(pdf.run("pdffonts"), Not(HasSubstr("Type 3")));
}

// Extraction of right-to-left text gives the letters in logical order, whatever order they were
// drawn in.
TEST(LetterPdf, KeepsNamesThatRunFromRightToLeft) {
    Letter letter = invented_letter();
    letter.patient = "ليلى";
    letter.recipient = {"רחל"};
    const PdfFile pdf(written(testing::plan(), letter));
    const std::string text = pdf.run("pdftotext", "-");
    EXPECT_THAT(text, HasSubstr("ليلى"));
    EXPECT_THAT(text, HasSubstr("רחל"));
}

// A stop rounded up in print would be set too deep.
TEST(LetterPdf, StopsAreNotRoundedUp) {
    Plan plan = testing::plan();
    plan.canals.front().order.front().stop_setting_mm = 18.75;
    plan.canals.front().recapitulation->stop_setting_mm = 18.25;
    const std::string text = PdfFile(written(plan)).run("pdftotext -layout", "-");
    EXPECT_THAT(text, HasSubstr("18.75"));
    EXPECT_THAT(text, HasSubstr("stop at 18.25 mm"));
}

TEST(LetterPdf, MarkupInNamesStaysText) {
    Letter letter = invented_letter();
    letter.patient = "<b>A & B</b>";
    const PdfFile pdf(written(testing::plan(), letter));
    EXPECT_THAT(pdf.run("pdftotext", "-"), HasSubstr("<b>A & B</b>"));
}

/// No word may leave the page's margins, nor lie on another word.
void expect_clean(const PdfFile& pdf) {
    const auto words = testing::words_of(pdf);
    ASSERT_GT(words.size(), 100u);
    const double left = 55, right = 595.3 - 55, bottom = 841.9 - 25;
    for (std::size_t i = 0; i < words.size(); ++i) {
        const auto& a = words[i];
        EXPECT_GE(a.x0, left) << a.text << " on page " << a.page;
        EXPECT_LE(a.x1, right) << a.text << " on page " << a.page;
        EXPECT_LE(a.y1, bottom) << a.text << " on page " << a.page;
        for (std::size_t k = i + 1; k < words.size() && words[k].page == a.page; ++k) {
            const auto& b = words[k];
            const double wide = std::min(a.x1, b.x1) - std::max(a.x0, b.x0);
            const double high = std::min(a.y1, b.y1) - std::max(a.y0, b.y0);
            // A word's box has the font's full height, so neighbouring lines may overlap a little.
            const double line = std::min(a.y1 - a.y0, b.y1 - b.y0);
            EXPECT_FALSE(wide > 0.5 && high > 0.45 * line)
                << a.text << " lies on " << b.text << " on page " << a.page << " at " << a.x0
                << ", " << a.y0;
        }
    }
}

TEST(LetterPdf, NoWordLeavesThePageOrLiesOnAnother) { expect_clean(letter()); }

TEST(LetterPdf, TellsWhatEachInstrumentTakesAwayAndWhereACanalEnds) {
    Plan plan = testing::plan();
    PlanStep& step = plan.canals[0].order.back();
    step.removed_mm3 = 0.314;
    step.untouched_share = 0.62;
    step.transport_mm = 0.043;
    step.transport_depth_mm = 15.2;
    step.centring = 0.55;
    for (std::size_t i = 0; i + 1 < plan.canals[0].order.size(); ++i)
        plan.canals[0].order[i].removed_mm3 = 0.001;
    plan.canals[1].ends_at_join = Branching{"MB", plan.canals[1].working_depth_mm};
    const PdfFile pdf(written(plan, Letter{}));
    const std::string text = pdf.run("pdftotext -layout", "-");
    EXPECT_THAT(text, HasSubstr("What it takes away"));
    EXPECT_THAT(text, ::testing::ContainsRegex("0.31 +62 % +0.04 at 15.2 +55 %"));
    EXPECT_THAT(text, HasSubstr("join with MB"));
    expect_clean(pdf);
}

TEST(LetterPdf, SaysOnceWhatSeveralCanalsHaveInCommonAndBeginsTheRulerOnTheSecondPage) {
    Plan plan = testing::plan();
    plan.warnings = {{"Bends very sharply.", "Radius 2.0 mm.", "MB", 17.5, 3, {}},
                     {"Long canal.", "", "D", {}, 1, {}},
                     {"Bends very sharply.", "Radius 3.0 mm.", "ML", 18.5, 3, {}}};
    const PdfFile pdf(written(plan, Letter{}));
    const std::string text = pdf.run("pdftotext", "-");
    EXPECT_THAT(text, HasSubstr("MB at 17.5 mm, ML at 18.5 mm"));
    EXPECT_THAT(text, HasSubstr("MB: Radius 2.0 mm. ML: Radius 3.0 mm."));
    EXPECT_EQ(text.find("Bends very sharply"), text.rfind("Bends very sharply"));
    EXPECT_THAT(pdf.run("pdftotext -f 2 -l 2", "-"), HasSubstr("Depth ruler"));
}

TEST(LetterPdf, LongTextAndManyCanalsStayClean) {
    Tooth tooth = testing::tooth();
    tooth.findings.assign(
        6,
        "A sentence that goes on for quite a while, as findings do when there is much to say, and "
        "then some more, with averyveryveryverylongwordthatnobodywouldwritebutsomeprogrammight.");
    tooth.canals.push_back(
        testing::canal("Middle mesial, uncertain", Vec3(1, 0, 21), Vec3(0, 1, 0), 6, 3, 70));
    tooth.canals.push_back(testing::canal("DL", Vec3(-2, 3, 21), Vec3(0, 1, 0), 2, 4, 90));
    Plan plan = testing::plan(tooth);
    for (CanalPlan& canal : plan.canals) {
        for (PlanStep& step : canal.order) step.why += " " + step.why + " " + step.why;
    }
    plan.warnings.assign(25, plan.warnings.front());
    expect_clean(PdfFile(written(plan)));
}

int page_of(const PdfFile& pdf, const std::string& words) {
    for (int page = 1; page < 12; ++page) {
        const std::string number = std::to_string(page);
        if (pdf.run("pdftotext -f " + number + " -l " + number, "-").find(words) !=
            std::string::npos)
            return page;
    }
    return 0;
}

// One page and enclosures, as a colleague reads it in two minutes (common practice, no source).
TEST(LetterPdf, KeepsALongLetterToOnePageAndSaysWhatStandsInTheEnclosure) {
    Tooth tooth = testing::tooth();
    for (int i = 1; i <= 9; ++i)
        tooth.findings.push_back("Finding" + std::to_string(i) +
                                 " goes on for quite a while, as findings do when there is much to "
                                 "say and nobody stops to think of who has to read all of it.");
    Plan plan = testing::plan(tooth);
    plan.warnings.assign(8, plan.warnings.front());
    Letter letter = invented_letter();
    letter.requests.clear();
    for (int i = 1; i <= 12; ++i)
        letter.requests.push_back("Request" + std::to_string(i) +
                                  " is put in many words, so that it fills at least one line and "
                                  "a good part of the next, as requests of this kind will do.");
    const PdfFile pdf(written(plan, letter));
    EXPECT_EQ(page_of(pdf, "Enclosed:"), 1);
    EXPECT_EQ(page_of(pdf, "More is said in the enclosure:"), 1);
    EXPECT_EQ(page_of(pdf, "Depth ruler"), 2);
    // Nothing is lost.
    for (int i = 1; i <= 9; ++i) EXPECT_GT(page_of(pdf, "Finding" + std::to_string(i)), 0);
    for (int i = 1; i <= 12; ++i) EXPECT_GT(page_of(pdf, "Request" + std::to_string(i)), 0);
    EXPECT_GT(page_of(pdf, "Finding9"), 1);
    EXPECT_EQ(page_of(pdf, "Request1"), 1);
    expect_clean(pdf);
    EXPECT_EQ(page_of(PdfFile(written(testing::plan())), "More is said"), 0);
}

TEST(LetterPdf, ScanIsShownWhenThereIsOne) {
    Brick brick;
    brick.geometry.size = {80, 80, 120};
    brick.geometry.spacing_mm = Vec3(0.25, 0.25, 0.25);
    brick.geometry.origin_P = Vec3(-10, -10, 4);
    brick.grey.assign(brick.geometry.voxel_count(), 500);
    for (std::size_t i = 0; i < brick.grey.size(); i += 3) brick.grey[i] = 1500;
    const PdfFile with(written(testing::plan(), invented_letter(), &brick));
    EXPECT_THAT(with.run("pdftotext", "-"), HasSubstr("From the scan"));
    EXPECT_THAT(with.run("pdfimages -list"), HasSubstr("image"));
    EXPECT_THAT(letter().run("pdftotext", "-"), HasSubstr("Drawn from the tooth's model"));
}

TEST(LetterPdf, RefusesAPlanWithoutCanals) {
    const auto pdf = letter_pdf(Plan{}, Letter{});
    ASSERT_FALSE(pdf);
    EXPECT_EQ(pdf.error().code, ErrorCode::BadInput);
}

TEST(LetterFile, TakesWhatIsThereAndNamesWhatIsWrong) {
    const auto letter = letter_from_json(
        {{"format", "anfract.letter"}, {"version", 1}, {"patient", "P"}}, "letter.json");
    ASSERT_TRUE(letter) << letter.error().sentence();
    EXPECT_EQ(letter->patient, "P");
    EXPECT_EQ(letter->salutation, "Dear colleague,");
    const auto wrong = letter_from_json(
        {{"format", "anfract.letter"}, {"version", 1}, {"practice", "one line"}}, "letter.json");
    ASSERT_FALSE(wrong);
    EXPECT_THAT(wrong.error().sentence(), HasSubstr("practice"));
}

}  // namespace
}  // namespace anfract
