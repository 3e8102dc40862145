using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class NewestDownloads : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "IX_Downloads_DropId",
                table: "Downloads");

            migrationBuilder.CreateIndex(
                name: "IX_Downloads_DropId_PersonId",
                table: "Downloads",
                columns: new[] { "DropId", "PersonId" },
                filter: "\"DropId\" IS NOT NULL");

            migrationBuilder.CreateIndex(
                name: "IX_Downloads_LibraryId_MadeAt",
                table: "Downloads",
                columns: new[] { "LibraryId", "MadeAt" });

            migrationBuilder.CreateIndex(
                name: "IX_Downloads_MadeAt",
                table: "Downloads",
                column: "MadeAt");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "IX_Downloads_DropId_PersonId",
                table: "Downloads");

            migrationBuilder.DropIndex(
                name: "IX_Downloads_LibraryId_MadeAt",
                table: "Downloads");

            migrationBuilder.DropIndex(
                name: "IX_Downloads_MadeAt",
                table: "Downloads");

            migrationBuilder.CreateIndex(
                name: "IX_Downloads_DropId",
                table: "Downloads",
                column: "DropId",
                filter: "\"DropId\" IS NOT NULL");
        }
    }
}
