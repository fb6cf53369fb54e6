#include "html_sheets.h"

#include <glib.h>

#include <cmath>
#include <memory>
#include <regex>

namespace anfract {
namespace {

const char* const style_sheet = R"(
body{font:16px/1.45 system-ui,sans-serif;color:#1b1f24;background:#fff;max-width:48rem;margin:2rem auto;padding:0 1rem}
h1{font-size:1.6rem;line-height:1.2}h2{font-size:1.2rem;margin-top:1.8rem}
header{display:flex;gap:1rem;justify-content:space-between;white-space:pre-line}
header img{max-height:4rem;max-width:12rem}
table{border-collapse:collapse;width:100%;font-size:.9rem}
th,td{text-align:left;vertical-align:top;padding:.3rem .5rem;border-bottom:1px solid #c9ced6}
th{font-weight:600;border-bottom-color:#1b1f24}.right{text-align:right}
.wide{overflow-x:auto}figure{margin:1rem 0}figure img{max-width:100%}
figcaption,footer{font-size:.85rem;color:#4c5560}
.mark{color:#8f1d1d;font-weight:700}p{white-space:pre-line}
@media print{body{margin:0;max-width:none}}
)";

std::string base64(const std::string& bytes) {
    const std::unique_ptr<gchar, decltype(&g_free)> text(
        g_base64_encode(reinterpret_cast<const guchar*>(bytes.data()), bytes.size()), g_free);
    return text.get();
}

cairo_status_t append(void* bytes, const unsigned char* data, unsigned length) {
    static_cast<std::string*>(bytes)->append(reinterpret_cast<const char*>(data), length);
    return CAIRO_STATUS_SUCCESS;
}

/// The markup of ours as HTML: <b> and <i> mean the same there, a colour becomes a style.
std::string html_of(const std::string& markup) {
    static const std::regex colour("<span foreground=\"(#[0-9a-f]{6})\">");
    return std::regex_replace(markup, colour, "<span style=\"color:$1\">");
}

std::string quoted(const std::string& text) {
    return std::regex_replace(escaped(text), std::regex("\""), "&quot;");
}

}  // namespace

void HtmlSheets::close_list() {
    if (in_list_) body_ += "</ul>\n";
    in_list_ = false;
}

void HtmlSheets::heading(const std::string& text, int level) {
    close_list();
    const std::string name = "h" + std::to_string(level);
    body_ += "<" + name + ">" + escaped(text) + "</" + name + ">\n";
}

void HtmlSheets::paragraph(const std::string& markup, const TextStyle&, double) {
    close_list();
    body_ += "<p>" + html_of(markup) + "</p>\n";
}

void HtmlSheets::list_item(const std::string&, const std::string& markup, const TextStyle&,
                           int risk_step) {
    if (!in_list_) body_ += "<ul>\n";
    in_list_ = true;
    const char* const steps[] = {"", "", "<b>Take care.</b> ", "<b>Can do harm.</b> "};
    body_ += "<li>" + std::string(risk_step >= 0 && risk_step < 4 ? steps[risk_step] : "") +
             html_of(markup) + "</li>\n";
}

void HtmlSheets::table(const Table& table, double) {
    close_list();
    body_ += "<div class=\"wide\" tabindex=\"0\" role=\"group\"><table>\n<thead><tr>";
    const auto side = [](const Column& column) {
        return column.align == Align::Right ? " class=\"right\"" : "";
    };
    for (const Column& column : table.columns) {
        body_ +=
            std::string("<th scope=\"col\"") + side(column) + ">" + escaped(column.head) + "</th>";
    }
    body_ += "</tr></thead>\n<tbody>\n";
    for (const auto& row : table.rows) {
        body_ += "<tr>";
        for (std::size_t c = 0; c < row.size(); ++c) {
            body_ += std::string("<td") + side(table.columns[c]) + ">" + html_of(row[c]) + "</td>";
        }
        body_ += "</tr>\n";
    }
    body_ += "</tbody></table></div>\n";
}

void HtmlSheets::figure(double height_pt, const std::string& caption, const Draw& draw,
                        const std::string& alternative) {
    close_list();
    constexpr double pixels_per_pt = 2;
    cairo_surface_t* surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, int(std::ceil(width_pt() * pixels_per_pt)),
                                   int(std::ceil(height_pt * pixels_per_pt)));
    cairo_t* cr = cairo_create(surface);
    cairo_scale(cr, pixels_per_pt, pixels_per_pt);
    paper::sheet.set(cr);
    cairo_paint(cr);
    draw(cr, 0, 0);
    cairo_destroy(cr);
    std::string png;
    cairo_surface_write_to_png_stream(surface, append, &png);
    cairo_surface_destroy(surface);
    body_ += "<figure><img src=\"data:image/png;base64," + base64(png) + "\" alt=\"" +
             quoted(alternative) + "\">";
    if (!caption.empty()) body_ += "<figcaption>" + html_of(caption) + "</figcaption>";
    body_ += "</figure>\n";
}

void HtmlSheets::letterhead(const std::string& left_markup, const std::string& right_markup) {
    head_ = "<header><div>" + html_of(left_markup) + "</div><div class=\"right\">" +
            html_of(right_markup) + "</div>";
    if (!settings_.logo_png.empty()) {
        head_ += "<img src=\"data:image/png;base64," + base64(settings_.logo_png) + "\" alt=\"\">";
    }
    head_ += "</header>\n";
}

std::string HtmlSheets::finish() {
    close_list();
    std::string page = "<!DOCTYPE html>\n<html lang=\"" + settings_.language +
                       "\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" "
                       "content=\"width=device-width, initial-scale=1\">\n"
                       "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                       "style-src 'unsafe-inline'; img-src data:\">\n<title>" +
                       escaped(settings_.title) + "</title>\n<style>" + style_sheet +
                       "</style>\n</head>\n<body>\n" + head_;
    if (!settings_.mark.empty()) page += "<p class=\"mark\">" + escaped(settings_.mark) + "</p>\n";
    return page + "<main>\n" + body_ + "</main>\n<footer><p>" + escaped(settings_.foot) +
           "</p></footer>\n</body>\n</html>\n";
}

}  // namespace anfract
