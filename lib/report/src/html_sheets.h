#pragma once

#include "sheets.h"

namespace anfract {

/// A letter as one HTML page that needs nothing else: pictures are in it, nothing is fetched and no
/// script runs. Headings, lists and tables are what they are called; pictures carry words.
class HtmlSheets : public Sheets {
  public:
    explicit HtmlSheets(SheetSettings settings) : settings_(std::move(settings)) {}

    double width_pt() const override { return 482; }
    double room_pt() const override { return 1e6; }
    void need(double) override {}
    void new_page() override {}
    void space(double) override {}
    void heading(const std::string& text, int level) override;
    void paragraph(const std::string& markup, const TextStyle& style, double after_pt) override;
    void list_item(const std::string& sign, const std::string& markup, const TextStyle& style,
                   int risk_step) override;
    void table(const Table& table, double size_pt) override;
    double table_height_pt(const Table&, double) const override { return 0; }
    void figure(double height_pt, const std::string& caption, const Draw& draw,
                const std::string& alternative) override;
    void letterhead(const std::string& left_markup, const std::string& right_markup) override;
    std::string finish() override;

  private:
    void close_list();

    SheetSettings settings_;
    std::string head_, body_;
    bool in_list_ = false;
};

}  // namespace anfract
