#pragma once

#include <cairo.h>

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "text.h"

namespace anfract {

/// What is the same on every page of a letter.
struct PaperSettings {
    std::string title;
    std::string subject;
    std::string author;
    std::string foot;    ///< the cautions
    std::string mark;    ///< such as "invented data"; empty: none
    int page_count = 0;  ///< 0 while it is being found out
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

/// Sheets of A4 that fill from the top and break by themselves; the result is a tagged PDF.
class Paper {
  public:
    explicit Paper(PaperSettings settings);

    double width_pt() const;  ///< between the margins
    double room_pt() const;   ///< left on this page

    /// Starts a new page unless `height_pt` is left on this one.
    void need(double height_pt);
    void new_page();
    void space(double height_pt) { y_ += height_pt; }

    void heading(const std::string& text, int level);
    /// `markup`: pango markup.
    void paragraph(const std::string& markup, const TextStyle& style = {}, double after_pt = 5);
    void list_item(const std::string& sign, const std::string& markup, const TextStyle& style = {},
                   int risk_step = -1);
    void table(const Table& table, double size_pt = 8.2);
    /// What `table` would take if it stays in one piece.
    double table_height_pt(const Table& table, double size_pt) const;
    void figure(double height_pt, const std::string& caption, const Draw& draw);
    /// Two columns of plain lines at the top of a letter, the second aligned right.
    void letterhead(const std::string& left_markup, const std::string& right_markup);

    int page() const { return page_; }
    /// Closes the document and returns its bytes.
    std::string finish();

    cairo_t* cairo() const { return cr_.get(); }

  private:
    struct Destroy {
        void operator()(cairo_t* cr) const { cairo_destroy(cr); }
        void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
    };
    void begin_page();
    void end_page();
    double foot_height_pt();
    std::vector<double> column_widths(const Table& table, double size_pt) const;
    void table_row(const Table& table, const std::vector<std::string>& cells,
                   const std::vector<double>& widths, double size_pt, bool head);
    double row_height_pt(const Table& table, const std::vector<std::string>& cells,
                         const std::vector<double>& widths, double size_pt, bool head) const;

    PaperSettings settings_;
    std::unique_ptr<std::string> bytes_;
    std::unique_ptr<cairo_surface_t, Destroy> surface_;
    std::unique_ptr<cairo_t, Destroy> cr_;
    double y_ = 0;
    double bottom_ = 0;
    int page_ = 0;
};

}  // namespace anfract
