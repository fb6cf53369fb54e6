// Pages made from templates: leaflets, discharge letters, the letter as HTML.

#include "anfract/report/document.h"

#include <cairo.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <turbojpeg.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <pugixml.hpp>

#include "anfract/report/key_pictures.h"
#include "poppler.h"
#include "test_plans.h"

namespace anfract {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;
using ::testing::Not;
using testing::PdfFile;

std::string made(const Result<std::string>& page) {
    EXPECT_TRUE(page) << page.error().sentence();
    return page.value_or("");
}

std::string pdf_text(const std::string& bytes) {
    const PdfFile pdf(bytes);
    std::string text = pdf.run("pdftotext", "-");
    std::replace(text.begin(), text.end(), '\n', ' ');
    return text;
}

/// Errors of an XML parser that is not ours; void elements are closed first, as HTML leaves them.
void expect_sound_html(const std::string& page, const std::string& language) {
    EXPECT_THAT(page, ::testing::StartsWith("<!DOCTYPE html>"));
    std::string text = page;
    for (const char* name : {"<meta", "<img"}) {
        for (std::size_t at = 0; (at = text.find(name, at)) != std::string::npos; ++at)
            text.insert(text.find('>', at), "/");
    }
    pugi::xml_document document;
    const auto read = document.load_string(text.c_str(), pugi::parse_default | pugi::parse_doctype);
    ASSERT_TRUE(read) << read.description() << " at " << text.substr(std::size_t(read.offset), 80);
    EXPECT_EQ(document.child("html").attribute("lang").value(), language);
    EXPECT_EQ(document.select_nodes("//h1").size(), 1u);
    EXPECT_EQ(document.select_nodes("//img[not(@alt)]").size(), 0u);
    EXPECT_EQ(document.select_nodes("//th[not(@scope='col')]").size(), 0u);
    EXPECT_EQ(document.select_nodes("//script").size(), 0u);
    // Nothing is fetched: no address of another file anywhere.
    EXPECT_EQ(document.select_nodes("//@href").size(), 0u);
    for (const auto& source : document.select_nodes("//@src"))
        EXPECT_THAT(source.attribute().value(), ::testing::StartsWith("data:image/png;base64,"));
}

TEST(Leaflet, SaysInBothLanguagesWhatIsWhatAndCautions) {
    const struct {
        const char* language;
        std::vector<const char*> words;
    } expected[] = {
        {"en",
         {"Your root canal treatment: tooth 37 (Universal 18)", "lower left second molar",
          "What can go wrong", "emergency services", "not a cleared medical device",
          "clinician decides", "does not replace the talk", "Invented telephone number",
          "Invented data"}},
        {"de",
         {"Ihre Wurzelkanalbehandlung: Zahn 37", "zweiter großer Backenzahn unten links",
          "Was schiefgehen kann", "Notruf", "kein zugelassenes Medizinprodukt", "Vorschriften",
          "ersetzt nicht das Gespräch", "Seite 1 von", "Erfundene Daten"}}};
    for (const auto& [language, words] : expected) {
        const std::string bytes =
            made(leaflet(testing::plan(), invented_letter(), language, LetterForm::Pdf));
        const std::string text = pdf_text(bytes);
        for (const char* word : words) EXPECT_THAT(text, HasSubstr(word)) << language;
        EXPECT_THAT(text, Not(HasSubstr("{{")));
        const PdfFile pdf(bytes);
        EXPECT_THAT(pdf.run("pdfinfo"), ::testing::ContainsRegex("Tagged: +yes"));
        EXPECT_THAT(pdf.run("pdfinfo"), ::testing::ContainsRegex("Pages: +[12]\n"));
        EXPECT_THAT(pdf.run("pdffonts"), Not(HasSubstr(" no  no")));
        const std::string page =
            made(leaflet(testing::plan(), invented_letter(), language, LetterForm::Html));
        expect_sound_html(page, language);
        EXPECT_THAT(page, HasSubstr(words[2]));
    }
    EXPECT_FALSE(leaflet(testing::plan(), Letter{}, "../en", LetterForm::Pdf));
    EXPECT_FALSE(leaflet(Plan{}, Letter{}, "en", LetterForm::Pdf));
}

TEST(Leaflet, SpeaksOfBendsOnlyWhereThereAreAny) {
    Tooth straight = testing::tooth();
    straight.canals.resize(1);
    Canal& canal = straight.canals[0];
    const Vec3 from = canal.samples.front().point_P, to = canal.samples.back().point_P;
    for (std::size_t i = 0; i < canal.samples.size(); ++i) {
        canal.samples[i].point_P =
            from + (to - from) * (double(i) / double(canal.samples.size() - 1));
        canal.samples[i].curvature_per_mm = 0;
    }
    const auto text = [](const Plan& plan) {
        return made(leaflet(plan, Letter{}, "en", LetterForm::Html));
    };
    Plan plan = testing::plan();
    EXPECT_THAT(text(plan), HasSubstr("clearly curved"));
    plan.tooth = straight;
    plan.canals.resize(1);
    EXPECT_THAT(text(plan), Not(HasSubstr("clearly curved")));
}

TEST(LetterHtml, SaysWhatThePaperSays) {
    const std::string page = made(letter_html(testing::plan(), invented_letter()));
    expect_sound_html(page, "en");
    for (const CanalPlan& canal : testing::plan().canals)
        EXPECT_THAT(page, HasSubstr("Canal " + canal.canal));
    EXPECT_THAT(page, HasSubstr("not a cleared medical device"));
    EXPECT_THAT(page, HasSubstr("Invented data"));
    EXPECT_THAT(page, HasSubstr("<th scope=\"col\">Canal</th>"));
    Letter letter = invented_letter();
    letter.patient = "<script>alert(1)</script>\" onload=\"x";
    EXPECT_THAT(made(letter_html(testing::plan(), letter)), Not(HasSubstr("<script")));
}

TEST(Document, KeepsMarkupInValuesAsText) {
    const json values{{"name", "<strong>&\"</strong>"}};
    const std::string page =
        made(document_from("<h1>T</h1><p>{{name}}</p>", values, {}, {}, LetterForm::Html));
    EXPECT_THAT(page, HasSubstr("&lt;strong&gt;&amp;"));
}

std::string jpeg_of(int width, int height) {
    std::vector<unsigned char> grey(std::size_t(width) * std::size_t(height), 90);
    unsigned char* bytes = nullptr;
    unsigned long size = 0;
    void* writer = tjInitCompress();
    EXPECT_EQ(tjCompress2(writer, grey.data(), width, 0, height, TJPF_GRAY, &bytes, &size,
                          TJSAMP_GRAY, 90, 0),
              0);
    std::string text(reinterpret_cast<char*>(bytes), size);
    tjFree(bytes);
    tjDestroy(writer);
    return text;
}

std::string png_of(int width, int height) {
    cairo_surface_t* surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    std::string bytes;
    cairo_surface_write_to_png_stream(
        surface,
        [](void* to, const unsigned char* data, unsigned length) {
            static_cast<std::string*>(to)->append(reinterpret_cast<const char*>(data), length);
            return CAIRO_STATUS_SUCCESS;
        },
        &bytes);
    cairo_surface_destroy(surface);
    return bytes;
}

const char* const with_picture =
    "<h1>T</h1><figure data-name=\"radiograph\"><figcaption>Of 2026</figcaption></figure>";

TEST(Document, ShowsPicturesOfTheCase) {
    for (const std::string& bytes : {jpeg_of(93, 41), png_of(93, 41)}) {
        DocumentLook look;
        look.pictures["radiograph"] = bytes;
        const PdfFile pdf(
            made(document_from(with_picture, json::object(), {}, look, LetterForm::Pdf)));
        EXPECT_THAT(pdf.run("pdfimages -list"), ::testing::ContainsRegex("image +93 +41 "));
        EXPECT_THAT(pdf.run("pdftotext", "-"), HasSubstr("Of 2026"));
        const std::string page =
            made(document_from(with_picture, json::object(), {}, look, LetterForm::Html));
        expect_sound_html(page, "en");
        EXPECT_THAT(page, HasSubstr("alt=\"Of 2026\""));
    }
}

TEST(Document, SaysWhenAPictureCannotBeRead) {
    const std::string jpeg = jpeg_of(93, 41), png = png_of(93, 41);
    std::string huge = png;
    huge[16] = 0x7f;  // its width, ISO/IEC 15948
    for (const std::string& bytes : {std::string("no picture"), png.substr(0, 40), huge,
                                     jpeg.substr(0, 40), jpeg.substr(0, jpeg.size() - 20)}) {
        DocumentLook look;
        look.pictures["radiograph"] = bytes;
        const std::string page =
            made(document_from(with_picture, json::object(), {}, look, LetterForm::Html));
        EXPECT_THAT(page, HasSubstr("The picture cannot be read"));
        EXPECT_THAT(page, Not(HasSubstr("<img")));
    }
}

TEST(Document, NamesPatientAndRecipientOnlyInALetter) {
    Letter letter;
    letter.patient = "Invented Person";
    letter.recipient = {"Invented Recipient", "1 Lane"};
    DocumentLook look;
    const auto text = [&] {
        return made(document_from("<h1>T</h1>", json::object(), letter, look, LetterForm::Html));
    };
    EXPECT_THAT(text(), Not(HasSubstr("Invented")));
    look.addressed = true;
    for (const char* words : {"Patient: Invented Person", "Invented Recipient\n1 Lane"})
        EXPECT_THAT(text(), HasSubstr(words));
    look.language = "de";
    EXPECT_THAT(text(), HasSubstr("Patient/in: Invented Person"));
}

TEST(Document, RefusesWhatIsNoTemplate) {
    const auto refusal = [](const std::string& text) {
        const auto page = document_from(text, json::object(), {}, {}, LetterForm::Pdf);
        return page ? "written" : page.error().sentence();
    };
    EXPECT_THAT(refusal("<p>{{#open}}</p>"), HasSubstr("template"));
    EXPECT_THAT(refusal("<p>unclosed"), HasSubstr("not well formed"));
    EXPECT_THAT(refusal("<script>x</script>"), HasSubstr("<script>"));
    EXPECT_THAT(refusal("<p><img src=\"x\"/></p>"), HasSubstr("<img>"));
    EXPECT_EQ(letter_form_of("a.doc").error().code, ErrorCode::BadInput);
}

TEST(Document, EveryBuiltInTemplateIsWrittenWithoutAnyValue) {
    for (const char* name : {"leaflet.en", "leaflet.de", "discharge.en", "discharge.de"}) {
        const std::string text = made(built_in_template(name));
        EXPECT_THAT(pdf_text(made(document_from(text, json::object(), {}, {}, LetterForm::Pdf))),
                    ::testing::ContainsRegex("not|nicht"))
            << name;
    }
}

TEST(KeyPictures, AreTheRulerAndTwoSections) {
    const auto pictures = key_pictures(testing::plan());
    ASSERT_TRUE(pictures) << pictures.error().sentence();
    ASSERT_EQ(pictures->size(), 3u);
    for (const KeyPicture& picture : *pictures) {
        EXPECT_EQ(picture.rgb.size(),
                  std::size_t(picture.width_px) * std::size_t(picture.height_px) * 3);
        // White at the edge, something else within.
        EXPECT_EQ(picture.rgb.substr(0, 3), "\xff\xff\xff");
        EXPECT_NE(picture.rgb.find_first_not_of('\xff'), std::string::npos);
        EXPECT_LE(picture.title.size(), 64u);
    }
    EXPECT_FALSE(key_pictures(Plan{}));
}

}  // namespace
}  // namespace anfract
