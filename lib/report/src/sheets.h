#pragma once

#include <cairo.h>

#include <functional>
#include <string>
#include <vector>

#include "text.h"

namespace anfract {

/// What is the same on every page of a letter.
struct SheetSettings {
    std::string title;
    std::string subject;
    std::string author;
    std::string language = "en";  ///< of the words, "en" or "de"
    std::string foot;             ///< the cautions
    std::string mark;             ///< such as "invented data"; empty: none
    std::string logo_png;         ///< bytes of the practice's picture; empty: none
    int page_count = 0;           ///< 0 while it is being found out
};

struct Column {
    std::string head;
    Align align = Align::Left;
    double width_pt = 0;  ///< 0: as wide as its widest cell
    double share = 0;     ///< > 0: takes this share of what the others leave
};

struct Table {
    std::vector<Column> columns;
    std::vector<std::vector<std::string>> rows;  ///< pango markup
};

/// A box of running content whose width and height are known, and a way to draw it at a place.
using Draw = std::function<void(cairo_t* cr, double x_pt, double y_pt)>;

/// What a letter is written on: sheets of paper, or one page of HTML.
class Sheets {
  public:
    virtual ~Sheets() = default;

    virtual double width_pt() const = 0;  ///< between the margins
    virtual double room_pt() const = 0;   ///< left on this page

    /// Starts a new page unless `height_pt` is left on this one.
    virtual void need(double height_pt) = 0;
    virtual void new_page() = 0;
    virtual void space(double height_pt) = 0;

    virtual void heading(const std::string& text, int level) = 0;
    /// `markup`: pango markup.
    virtual void paragraph(const std::string& markup, const TextStyle& style = {},
                           double after_pt = 5) = 0;
    virtual void list_item(const std::string& sign, const std::string& markup,
                           const TextStyle& style = {}, int risk_step = -1) = 0;
    virtual void table(const Table& table, double size_pt = 8.2) = 0;
    /// What `table` would take if it stays in one piece.
    virtual double table_height_pt(const Table& table, double size_pt) const = 0;
    /// @param alternative  what the picture shows, in words; paper does not carry it
    virtual void figure(double height_pt, const std::string& caption, const Draw& draw,
                        const std::string& alternative) = 0;
    /// Two columns of plain lines at the top of a letter, the second aligned right.
    virtual void letterhead(const std::string& left_markup, const std::string& right_markup) = 0;

    /// Closes the document and returns its bytes.
    virtual std::string finish() = 0;
};

}  // namespace anfract
