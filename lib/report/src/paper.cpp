#include "paper.h"

#include <cairo-pdf.h>

#include <algorithm>

#include "picture.h"

namespace anfract {
namespace {

constexpr double mm = 72 / 25.4;
constexpr double sheet_width = 210 * mm, sheet_height = 297 * mm;
constexpr double side = 20 * mm, top = 16 * mm, foot = 11 * mm;
constexpr double cell_gap = 8, row_pad = 2.2;

/// A structure element of the tagged PDF for as long as it lives.
class Tag {
  public:
    Tag(cairo_t* cr, const char* name) : cr_(cr), name_(name) { cairo_tag_begin(cr, name, ""); }
    ~Tag() { cairo_tag_end(cr_, name_); }
    Tag(const Tag&) = delete;
    Tag& operator=(const Tag&) = delete;

  private:
    cairo_t* cr_;
    const char* name_;
};

cairo_status_t append(void* bytes, const unsigned char* data, unsigned length) {
    static_cast<std::string*>(bytes)->append(reinterpret_cast<const char*>(data), length);
    return CAIRO_STATUS_SUCCESS;
}

void line(cairo_t* cr, double x0, double x1, double y, double width, Colour colour) {
    colour.set(cr);
    cairo_set_line_width(cr, width);
    cairo_move_to(cr, x0, y);
    cairo_line_to(cr, x1, y);
    cairo_stroke(cr);
}

TextStyle cell_style(const Column& column, double size_pt, bool head) {
    TextStyle style;
    style.size_pt = head ? size_pt - 0.7 : size_pt;
    style.align = column.align;
    style.line_spacing = 1.1;
    if (head) style.colour = paper::quiet;
    return style;
}

}  // namespace

Paper::Paper(SheetSettings settings)
    : settings_(std::move(settings)), bytes_(std::make_unique<std::string>()) {
    surface_.reset(
        cairo_pdf_surface_create_for_stream(append, bytes_.get(), sheet_width, sheet_height));
    cairo_surface_t* surface = surface_.get();
    const auto say = [&](cairo_pdf_metadata_t key, const std::string& text) {
        if (!text.empty()) cairo_pdf_surface_set_metadata(surface, key, text.c_str());
    };
    say(CAIRO_PDF_METADATA_TITLE, settings_.title);
    say(CAIRO_PDF_METADATA_SUBJECT, settings_.subject);
    say(CAIRO_PDF_METADATA_AUTHOR, settings_.author);
    say(CAIRO_PDF_METADATA_CREATOR, "Anfract");
    cr_.reset(cairo_create(surface));
    // cairo writes a tag tree only below an element of this name, the one that may cross pages.
    cairo_tag_begin(cr_.get(), "Document", "");
    begin_page();
}

double Paper::width_pt() const { return sheet_width - 2 * side; }

double Paper::room_pt() const { return bottom_ - y_; }

double Paper::foot_height_pt() {
    TextStyle style{.size_pt = 6.6, .colour = paper::quiet, .line_spacing = 1.05};
    return Text(cr_.get(), settings_.foot, style, width_pt()).height_pt();
}

void Paper::begin_page() {
    ++page_;
    y_ = top;
    bottom_ = sheet_height - foot - foot_height_pt() - 22;
    if (page_ > 1) {
        const TextStyle style{.size_pt = 7.2, .colour = paper::quiet};
        Text(cr_.get(), settings_.title, style).draw(side, y_ - 12);
    }
    if (!settings_.mark.empty()) {
        const TextStyle style{.size_pt = 7.2, .bold = true, .colour = paper::risk[3]};
        const Text mark(cr_.get(), settings_.mark, style);
        mark.draw(sheet_width - side - mark.width_pt(), y_ - 12);
    }
    if (page_ > 1) y_ += 6;
}

void Paper::end_page() {
    const double height = foot_height_pt();
    double y = sheet_height - foot - height;
    const TextStyle style{.size_pt = 6.6, .colour = paper::quiet, .line_spacing = 1.05};
    const TextStyle number{.size_pt = 7.2, .colour = paper::quiet};
    const bool german = settings_.language == "de";
    const Text page(cr_.get(),
                    (german ? "Seite " : "Page ") + std::to_string(page_) +
                        (german ? " von " : " of ") +
                        std::to_string(std::max(page_, settings_.page_count)),
                    number);
    line(cr_.get(), side, sheet_width - side, y - 16, 0.5, paper::rule);
    page.draw(sheet_width - side - page.width_pt(), y - 12);
    Text(cr_.get(),
         german ? "Erstellt mit Anfract, einer Planungshilfe" : "Made with Anfract, a planning aid",
         number)
        .draw(side, y - 12);
    const Tag tag(cr_.get(), "P");
    Text(cr_.get(), settings_.foot, style, width_pt()).draw(side, y);
}

void Paper::new_page() {
    end_page();
    cairo_show_page(cr_.get());
    begin_page();
}

void Paper::need(double height_pt) {
    // A box taller than a page is drawn from the top of a fresh one rather than pushed on for ever.
    if (height_pt > room_pt() && y_ > top + 20) new_page();
}

void Paper::heading(const std::string& text, int level) {
    const double sizes[] = {15, 11, 9.4};
    const TextStyle style{.size_pt = sizes[std::clamp(level, 1, 3) - 1], .bold = true};
    const Text laid(cr_.get(), text, style, width_pt());
    // A heading stays with at least a few lines of what it heads.
    need(laid.height_pt() + 46);
    if (y_ > top + 8) y_ += level == 1 ? 10 : 7;
    const char* const names[] = {"H1", "H2", "H3"};
    const Tag tag(cr_.get(), names[std::clamp(level, 1, 3) - 1]);
    laid.draw(side, y_);
    y_ += laid.height_pt() + (level == 1 ? 5 : 3);
}

void Paper::paragraph(const std::string& markup, const TextStyle& style, double after_pt) {
    const Text text(cr_.get(), markup, style, width_pt(), true);
    need(text.height_pt());
    const Tag tag(cr_.get(), "P");
    text.draw(side, y_);
    y_ += text.height_pt() + after_pt;
}

void Paper::list_item(const std::string& sign, const std::string& markup, const TextStyle& style,
                      int risk_step) {
    constexpr double indent = 15;
    const Text text(cr_.get(), markup, style, width_pt() - indent, true);
    need(text.height_pt());
    const Tag tag(cr_.get(), "P");
    if (risk_step >= 0) {
        // The number of marks carries the step, so that tint alone never does.
        for (int i = 0; i <= 3; ++i) {
            const double height = 2.2 + 1.5 * i;
            (i <= risk_step ? risk_colour(risk_step) : paper::sheet).set(cr_.get());
            cairo_rectangle(cr_.get(), side + 2.6 * i, y_ + 9.2 - height, 2.1, height);
            cairo_fill_preserve(cr_.get());
            paper::rule.set(cr_.get());
            cairo_set_line_width(cr_.get(), 0.3);
            cairo_stroke(cr_.get());
        }
    } else {
        Text(cr_.get(), sign, style).draw(side + 2, y_);
    }
    text.draw(side + indent, y_);
    y_ += text.height_pt() + 3;
}

std::vector<double> Paper::column_widths(const Table& table, double size_pt) const {
    std::vector<double> widths;
    double taken = 0, shares = 0;
    for (std::size_t c = 0; c < table.columns.size(); ++c) {
        const Column& column = table.columns[c];
        double width = column.width_pt;
        if (width == 0 && column.share == 0) {
            width = Text(cr_.get(), column.head, cell_style(column, size_pt, true)).width_pt();
            for (const auto& row : table.rows) {
                const Text cell(cr_.get(), row[c], cell_style(column, size_pt, false), 0, true);
                width = std::max(width, cell.width_pt());
            }
            width += 0.5;
        }
        widths.push_back(width);
        taken += width + (c + 1 < table.columns.size() ? cell_gap : 0);
        shares += column.share;
    }
    for (std::size_t c = 0; c < widths.size(); ++c) {
        if (table.columns[c].share > 0) {
            widths[c] = std::max(40.0, (width_pt() - taken) * table.columns[c].share / shares);
        }
    }
    return widths;
}

double Paper::row_height_pt(const Table& table, const std::vector<std::string>& cells,
                            const std::vector<double>& widths, double size_pt, bool head) const {
    double height = 0;
    for (std::size_t c = 0; c < cells.size(); ++c) {
        const TextStyle style = cell_style(table.columns[c], size_pt, head);
        height = std::max(height, Text(cr_.get(), cells[c], style, widths[c], true).height_pt());
    }
    return height + 2 * row_pad;
}

void Paper::table_row(const Table& table, const std::vector<std::string>& cells,
                      const std::vector<double>& widths, double size_pt, bool head) {
    const Tag row(cr_.get(), "TR");
    double x = side;
    for (std::size_t c = 0; c < cells.size(); ++c) {
        const Tag cell(cr_.get(), head ? "TH" : "TD");
        const TextStyle style = cell_style(table.columns[c], size_pt, head);
        Text(cr_.get(), cells[c], style, widths[c], true).draw(x, y_ + row_pad);
        x += widths[c] + cell_gap;
    }
    y_ += row_height_pt(table, cells, widths, size_pt, head);
    line(cr_.get(), side, sheet_width - side, y_, head ? 0.7 : 0.35,
         head ? paper::ink : paper::rule);
}

double Paper::table_height_pt(const Table& table, double size_pt) const {
    const std::vector<double> widths = column_widths(table, size_pt);
    std::vector<std::string> heads;
    for (const Column& column : table.columns) heads.push_back(escaped(column.head));
    double height = row_height_pt(table, heads, widths, size_pt, true) + 6;
    for (const auto& row : table.rows) height += row_height_pt(table, row, widths, size_pt, false);
    return height;
}

void Paper::table(const Table& table, double size_pt) {
    // A table that fits on one page is not torn apart.
    const double whole = table_height_pt(table, size_pt);
    if (whole < 0.8 * (bottom_ - top)) need(whole);
    const std::vector<double> widths = column_widths(table, size_pt);
    std::vector<std::string> heads;
    for (const Column& column : table.columns) heads.push_back(escaped(column.head));
    const double head_height = row_height_pt(table, heads, widths, size_pt, true);
    std::size_t next = 0;
    do {
        const double first = next < table.rows.size()
                                 ? row_height_pt(table, table.rows[next], widths, size_pt, false)
                                 : 0;
        need(head_height + first);
        // Each page's part is a table of its own: an element of the tag tree must not cross a page.
        const Tag tag(cr_.get(), "Table");
        table_row(table, heads, widths, size_pt, true);
        while (next < table.rows.size() &&
               row_height_pt(table, table.rows[next], widths, size_pt, false) <= room_pt() + 0.01) {
            table_row(table, table.rows[next++], widths, size_pt, false);
            if (next == table.rows.size()) break;
        }
        // A row taller than a whole page cannot be kept in one piece; it is drawn where it is.
        if (next < table.rows.size() && y_ <= top + 8 + head_height) {
            table_row(table, table.rows[next++], widths, size_pt, false);
        }
    } while (next < table.rows.size());
    y_ += 6;
}

void Paper::figure(double height_pt, const std::string& caption, const Draw& draw,
                   const std::string&) {
    const TextStyle style{.size_pt = 7.6, .colour = paper::quiet, .line_spacing = 1.1};
    const Text text(cr_.get(), caption, style, width_pt(), true);
    need(height_pt + text.height_pt() + 8);
    {
        const Tag tag(cr_.get(), "Figure");
        draw(cr_.get(), side, y_);
    }
    y_ += height_pt + 3;
    if (caption.empty()) return;
    const Tag tag(cr_.get(), "Caption");
    text.draw(side, y_);
    y_ += text.height_pt() + 8;
}

void Paper::letterhead(const std::string& left_markup, const std::string& right_markup) {
    logo();
    const TextStyle left{.size_pt = 9};
    const TextStyle right{.size_pt = 8, .colour = paper::quiet, .align = Align::Right};
    const Text a(cr_.get(), left_markup, left, width_pt() * 0.54, true);
    const Text b(cr_.get(), right_markup, right, width_pt() * 0.42, true);
    {
        const Tag tag(cr_.get(), "P");
        a.draw(side, y_);
    }
    {
        const Tag tag(cr_.get(), "P");
        b.draw(side + width_pt() * 0.58, y_);
    }
    y_ += std::max(a.height_pt(), b.height_pt()) + 10;
}

void Paper::logo() {
    if (settings_.logo_png.empty()) return;
    const auto picture = picture_from(settings_.logo_png);
    if (!picture) return;
    const double width = cairo_image_surface_get_width(picture->get()),
                 height = cairo_image_surface_get_height(picture->get());
    const double scale = std::min(110 / width, 42 / height);
    const Tag tag(cr_.get(), "Figure");
    draw_picture(cr_.get(), *picture, sheet_width - side - width * scale, y_, scale);
    y_ += height * scale + 6;
}

std::string Paper::finish() {
    end_page();
    cairo_tag_end(cr_.get(), "Document");
    cairo_show_page(cr_.get());
    cr_.reset();
    cairo_surface_finish(surface_.get());
    surface_.reset();
    return std::move(*bytes_);
}

std::string paper_of(SheetSettings settings, const std::function<void(Sheets&)>& write) {
    Paper trial(settings);
    write(trial);
    settings.page_count = trial.page();
    trial.finish();
    Paper paper(settings);
    write(paper);
    return paper.finish();
}

}  // namespace anfract
