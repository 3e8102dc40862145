using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class StoppedReading : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<long>(
                name: "StoppedAt",
                table: "ReleaseComparisons",
                type: "bigint",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "ReadAskedAt",
                table: "Archives",
                type: "bigint",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "ReadStoppedAt",
                table: "Archives",
                type: "bigint",
                nullable: true);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "StoppedAt",
                table: "ReleaseComparisons");

            migrationBuilder.DropColumn(
                name: "ReadAskedAt",
                table: "Archives");

            migrationBuilder.DropColumn(
                name: "ReadStoppedAt",
                table: "Archives");
        }
    }
}
