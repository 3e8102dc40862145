using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class PricesAndCredits : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<long>(
                name: "ToldAllAt",
                table: "PriceChanges",
                type: "bigint",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "NextTryAt",
                table: "PriceChangeLines",
                type: "bigint",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "PriceMinor",
                table: "Payments",
                type: "bigint",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<long>(
                name: "WrittenAt",
                table: "MonthCredits",
                type: "bigint",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "NextTryAt",
                table: "MonthCreditLines",
                type: "bigint",
                nullable: true);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "ToldAllAt",
                table: "PriceChanges");

            migrationBuilder.DropColumn(
                name: "NextTryAt",
                table: "PriceChangeLines");

            migrationBuilder.DropColumn(
                name: "PriceMinor",
                table: "Payments");

            migrationBuilder.DropColumn(
                name: "WrittenAt",
                table: "MonthCredits");

            migrationBuilder.DropColumn(
                name: "NextTryAt",
                table: "MonthCreditLines");
        }
    }
}
