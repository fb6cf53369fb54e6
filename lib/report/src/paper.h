#pragma once

#include <memory>
#include <string>

#include "sheets.h"

namespace anfract {

/// Sheets of A4 that fill from the top and break by themselves; the result is a tagged PDF.
class Paper : public Sheets {
  public:
    explicit Paper(SheetSettings settings);

    double width_pt() const override;
    double room_pt() const override;
    void need(double height_pt) override;
    void new_page() override;
    void space(double height_pt) override { y_ += height_pt; }
    void heading(const std::string& text, int level) override;
    void paragraph(const std::string& markup, const TextStyle& style = {},
                   double after_pt = 5) override;
    void list_item(const std::string& sign, const std::string& markup, const TextStyle& style = {},
                   int risk_step = -1) override;
    void table(const Table& table, double size_pt = 8.2) override;
    double table_height_pt(const Table& table, double size_pt) const override;
    void figure(double height_pt, const std::string& caption, const Draw& draw,
                const std::string& alternative = "") override;
    void letterhead(const std::string& left_markup, const std::string& right_markup) override;

    int page() const { return page_; }
    std::string finish() override;

    cairo_t* cairo() const { return cr_.get(); }

  private:
    struct Destroy {
        void operator()(cairo_t* cr) const { cairo_destroy(cr); }
        void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
    };
    void begin_page();
    void end_page();
    void logo();
    double foot_height_pt();
    std::vector<double> column_widths(const Table& table, double size_pt) const;
    void table_row(const Table& table, const std::vector<std::string>& cells,
                   const std::vector<double>& widths, double size_pt, bool head);
    double row_height_pt(const Table& table, const std::vector<std::string>& cells,
                         const std::vector<double>& widths, double size_pt, bool head) const;

    SheetSettings settings_;
    std::unique_ptr<std::string> bytes_;
    std::unique_ptr<cairo_surface_t, Destroy> surface_;
    std::unique_ptr<cairo_t, Destroy> cr_;
    double y_ = 0;
    double bottom_ = 0;
    int page_ = 0;
};

/// Writes twice: "Page 1 of 3" needs the number of pages, which only a first pass tells.
std::string paper_of(SheetSettings settings, const std::function<void(Sheets&)>& write);

}  // namespace anfract
