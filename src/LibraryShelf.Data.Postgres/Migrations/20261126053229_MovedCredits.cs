using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class MovedCredits : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<string>(
                name: "ButtonWords",
                table: "Shops",
                type: "text",
                nullable: false,
                defaultValue: "",
                collation: "C");

            migrationBuilder.AddColumn<long>(
                name: "BackMinor",
                table: "MonthCreditLines",
                type: "bigint",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<long>(
                name: "MovedAt",
                table: "MonthCreditLines",
                type: "bigint",
                nullable: true);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "ButtonWords",
                table: "Shops");

            migrationBuilder.DropColumn(
                name: "BackMinor",
                table: "MonthCreditLines");

            migrationBuilder.DropColumn(
                name: "MovedAt",
                table: "MonthCreditLines");
        }
    }
}
