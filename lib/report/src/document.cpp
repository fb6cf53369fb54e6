#include "anfract/report/document.h"

#include <algorithm>
#include <cstring>
#include <kainjow/mustache.hpp>
#include <nlohmann/json.hpp>
#include <pugixml.hpp>
#include <set>

#include "anfract/tooth/tooth_number.h"
#include "built_in_templates.h"
#include "html_sheets.h"
#include "letter_head.h"
#include "paper.h"
#include "picture.h"
#include "section_view.h"
#include "tooth_words.h"

namespace anfract {
namespace {

using kainjow::mustache::data;
using kainjow::mustache::mustache;
using nlohmann::json;

const char* const cautions_en =
    "Made with a planning aid, not a cleared medical device. Depths are estimates from a scan and "
    "are verified with an apex locator and a radiograph. Irrigant forced past the foramen, "
    "instrument fracture, perforation and heat can do harm. Local codes apply and the licensed "
    "clinician decides.";
const char* const cautions_de =
    "Erstellt mit einer Planungshilfe, die kein zugelassenes Medizinprodukt ist. Tiefen sind "
    "Schätzungen aus einer Aufnahme; sie werden mit einem Messgerät im Kanal und einem "
    "Röntgenbild überprüft. Spülflüssigkeit jenseits der Wurzel, Instrumentenbruch, Perforation "
    "und Hitze können schaden. Es gelten die örtlichen Vorschriften, und die behandelnde "
    "Zahnärztin oder der Zahnarzt entscheidet.";

data data_of(const json& value) {
    if (value.is_object()) {
        data object(data::type::object);
        for (const auto& [key, part] : value.items()) object.set(key, data_of(part));
        return object;
    }
    if (value.is_array()) {
        data list(data::type::list);
        for (const json& part : value) list.push_back(data_of(part));
        return list;
    }
    if (value.is_boolean()) return data(value.get<bool>());
    if (value.is_null()) return data(false);
    const std::string text = value.is_string() ? value.get<std::string>() : value.dump();
    // An empty text is absent, so that sections about it are left out.
    if (text.empty()) return data(false);
    return data(text);
}

tl::unexpected<Error> wrong(const std::string& what) {
    return fail(ErrorCode::BadInput, what, "template", "see docs/methods/report.md");
}

/// Writes a filled template onto sheets.
class TemplateWriter {
  public:
    TemplateWriter(Sheets& sheets, const DocumentLook& look)
        : sheets_(sheets), look_(look), style_{.size_pt = look.size_pt} {}

    void write(const pugi::xml_node& body) {
        for (const pugi::xml_node& node : body.children()) block(node);
    }

  private:
    void block(const pugi::xml_node& node) {
        const std::string name = node.name();
        if (name.size() == 2 && name[0] == 'h') {
            sheets_.heading(node.text().get(), name[1] - '0');
        } else if (name == "p") {
            sheets_.paragraph(markup_of(node), style_);
        } else if (name == "ul") {
            for (const pugi::xml_node& item : node.children("li"))
                sheets_.list_item("–", markup_of(item), style_);
            sheets_.space(3);
        } else if (name == "table") {
            table(node);
        } else if (name == "figure") {
            figure(node.attribute("data-name").value(), markup_of(node.child("figcaption")));
        }
    }

    static std::string markup_of(const pugi::xml_node& node) {
        std::string text;
        for (const pugi::xml_node& part : node.children()) {
            const std::string name = part.name();
            if (name == "strong" || name == "em") {
                const char* const tag = name == "strong" ? "b" : "i";
                text += std::string("<") + tag + ">" + markup_of(part) + "</" + tag + ">";
            } else if (name == "br") {
                text += "\n";
            } else {
                text += escaped(collapsed(part.value()));
            }
        }
        return text;
    }

    static std::string collapsed(const char* text) {
        std::string plain;
        for (const char* c = text; *c != '\0'; ++c) {
            const bool blank = std::strchr(" \t\r\n", *c) != nullptr;
            if (!blank)
                plain += *c;
            else if (plain.empty() || plain.back() != ' ')
                plain += ' ';
        }
        return plain;
    }

    void table(const pugi::xml_node& node) {
        Table table;
        for (const pugi::xml_node& row : node.children("tr")) {
            std::vector<std::string> cells;
            for (const pugi::xml_node& cell : row.children()) {
                if (std::strcmp(cell.name(), "th") == 0) {
                    Column column;
                    column.head = cell.text().get();
                    column.share = cell.attribute("data-share").as_double(1);
                    table.columns.push_back(column);
                } else if (std::strcmp(cell.name(), "td") == 0) {
                    cells.push_back(markup_of(cell));
                }
            }
            if (cells.empty()) continue;
            cells.resize(table.columns.size());
            table.rows.push_back(std::move(cells));
        }
        if (!table.columns.empty()) sheets_.table(table);
    }

    void figure(const std::string& name, const std::string& caption) {
        const auto picture = look_.pictures.find(name);
        if (picture != look_.pictures.end())
            photograph(picture->second, caption);
        else if (look_.plan != nullptr)
            section(caption);
    }

    void photograph(const std::string& bytes, const std::string& caption) {
        const auto picture = picture_from(bytes);
        if (!picture) {
            sheets_.paragraph(
                caption + (look_.language == "de" ? " (Das Bild lässt sich nicht lesen.)"
                                                  : " (The picture cannot be read.)"),
                style_);
            return;
        }
        constexpr double tallest = 170;
        const double width = cairo_image_surface_get_width(picture->get()),
                     height = cairo_image_surface_get_height(picture->get());
        const double scale = std::min(tallest / height, sheets_.width_pt() / width);
        sheets_.figure(
            height * scale, caption,
            [&](cairo_t* cr, double x, double y) { draw_picture(cr, *picture, x, y, scale); },
            caption);
    }

    void section(const std::string& caption) {
        const SectionView view(look_.plan->tooth, view_frames(look_.plan->tooth)[0], nullptr);
        constexpr double tallest = 130, names = 8.5 * name_rows;
        const double scale =
            std::min(tallest / view.height_mm(), sheets_.width_pt() / view.width_mm());
        sheets_.figure(
            view.height_mm() * scale + names, caption,
            [&](cairo_t* cr, double x, double y) { view.draw(cr, x, y, scale); },
            caption.empty() ? "The tooth cut lengthwise" : caption);
    }

    Sheets& sheets_;
    const DocumentLook& look_;
    TextStyle style_;
};

/// Only the elements that are written: what is left out in silence would be missed.
Result<void> check(const pugi::xml_node& node) {
    static const std::set<std::string> known{"h1",     "h2",    "h3",     "p",  "ul",
                                             "li",     "table", "tr",     "th", "td",
                                             "strong", "em",    "figure", "br", "figcaption"};
    for (const pugi::xml_node& part : node.children()) {
        const std::string name = part.name();
        if (part.type() == pugi::node_pcdata) continue;
        if (part.type() != pugi::node_element || !known.contains(name))
            return wrong("holds <" + name + ">, which is not among what it may hold");
        if (auto good = check(part); !good) return good;
    }
    return {};
}

}  // namespace

json tooth_values(const std::string& fdi, const std::string& language) {
    const auto number = tooth_number_from_fdi(fdi);
    return {{"tooth", fdi},
            {"universal", number ? number->universal() : ""},
            {"words", language == "de" ? tooth_words_german(fdi) : tooth_words(fdi)}};
}

Result<LetterForm> letter_form_of(const std::string& path) {
    if (path.ends_with(".pdf")) return LetterForm::Pdf;
    if (path.ends_with(".html")) return LetterForm::Html;
    return fail(ErrorCode::BadInput, "is neither .pdf nor .html", path, "name the file so");
}

Result<std::string> built_in_template(const std::string& name) {
    for (const auto& [known, text] : built_in_templates()) {
        if (known == name + ".html") return std::string(text);
    }
    return fail(ErrorCode::NotFound, "there is no such template", name, "see the list in the help");
}

Result<std::string> document_from(const std::string& text, const json& values, const Letter& letter,
                                  const DocumentLook& look, LetterForm form) {
    mustache filler(text);
    if (!filler.is_valid()) return wrong(filler.error_message());
    const std::string filled = filler.render(data_of(values));
    if (!filler.is_valid()) return wrong(filler.error_message());
    pugi::xml_document parsed;
    const auto read = parsed.load_string(("<page>" + filled + "</page>").c_str(),
                                         pugi::parse_default | pugi::parse_ws_pcdata);
    if (!read) return wrong(std::string("is not well formed: ") + read.description());
    const pugi::xml_node body = parsed.child("page");
    if (auto good = check(body); !good) return tl::unexpected(good.error());

    SheetSettings settings;
    settings.title = look.title;
    settings.author = letter.author;
    settings.language = look.language;
    settings.foot = look.language == "de" ? cautions_de : cautions_en;
    settings.logo_png = letter.logo_png;
    if (look.invented) settings.mark = look.language == "de" ? "Erfundene Daten" : "Invented data";
    const auto write = [&](Sheets& sheets) {
        write_letter_head(sheets, letter, look.language, look.addressed);
        TemplateWriter(sheets, look).write(body);
    };
    if (form == LetterForm::Pdf) return paper_of(settings, write);
    HtmlSheets sheets(settings);
    write(sheets);
    return sheets.finish();
}

}  // namespace anfract
